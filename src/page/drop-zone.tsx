import { useEffect, useState } from 'react';
import { takeIn } from './state/actions.js';
import { readAreaFile } from './state/plan.js';
import { screen } from './state/stores.js';
import { SONAR_FILE } from './words/sonar-logs.js';

/** What the file picker offers first; any file may be tried. */
export const LOG_FILES = '.nmea,.log,.txt,.csv,.dat,.sgy,.segy,.nc,.nc4,.h5,.png,.tif,.tiff,text/plain,text/csv';

const AREA_FILE = /\.(geojson|json|kml)$/i;

/** Files dropped anywhere on the table: areas at the Lines stage (GPX too), logs everywhere else. */
export function DropZone() {
  const [over, setOver] = useState(false);
  useEffect(() => {
    let depth = 0;
    const hasFiles = (event: DragEvent) => event.dataTransfer?.types.includes('Files') === true;
    const enter = (event: DragEvent) => {
      if (!hasFiles(event)) return;
      depth++;
      setOver(true);
    };
    const leave = () => {
      depth = Math.max(0, depth - 1);
      if (depth === 0) setOver(false);
    };
    const stay = (event: DragEvent) => {
      if (hasFiles(event)) event.preventDefault();
    };
    const drop = (event: DragEvent) => {
      if (!hasFiles(event)) return;
      event.preventDefault();
      depth = 0;
      setOver(false);
      takeFiles([...(event.dataTransfer?.files ?? [])]);
    };
    addEventListener('dragenter', enter);
    addEventListener('dragleave', leave);
    addEventListener('dragover', stay);
    addEventListener('drop', drop);
    return () => {
      removeEventListener('dragenter', enter);
      removeEventListener('dragleave', leave);
      removeEventListener('dragover', stay);
      removeEventListener('drop', drop);
    };
  }, []);
  if (!over) return null;
  return (
    <div className="drop-zone" aria-hidden="true">
      <p>Let go to take it in</p>
      <span>logs: NMEA 0183 or CSV, kept byte for byte · areas: GeoJSON or KML, or GPX at Lines</span>
    </div>
  );
}

/** Opens the file picker for logs. */
export function pickLogs(): void {
  const input = document.createElement('input');
  input.type = 'file';
  input.multiple = true;
  input.accept = LOG_FILES;
  input.onchange = () => takeFiles([...(input.files ?? [])]);
  input.click();
}

/** Sends each file where it belongs. */
export function takeFiles(files: readonly File[]): void {
  const atLines = screen.get().stage === 'lines';
  const areas = files.filter((file) => AREA_FILE.test(file.name) || (atLines && /\.gpx$/i.test(file.name)));
  const logs = files.filter((file) => !areas.includes(file));
  const area = areas[0];
  if (area !== undefined) {
    screen.update((now) => ({ ...now, stage: 'lines' }));
    void readAreaFile(area);
  }
  if (logs.length > 0) {
    // Side-scan records are looked at where their pictures are.
    screen.update((now) => ({ ...now, stage: logs.every((file) => SONAR_FILE.test(file.name)) ? 'imagery' : 'depths' }));
    void takeIn(logs);
  }
}
