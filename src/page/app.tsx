import { lazy, Suspense, useEffect } from 'react';
import { DayBar } from './day-bar.js';
import { DropZone } from './drop-zone.js';
import { SheetFor } from './sheets/sheet-for.js';
import { undo } from './state/actions.js';
import { decide } from './state/decide-soundings.js';
import { boat } from './state/boat.js';
import { depths, goToFlagged } from './state/depths.js';
import { imagery } from './state/imagery.js';
import { screen, session, survey } from './state/stores.js';
import { selectTrial, trials } from './state/trials.js';
import { rehearsal, shownOf } from './state/rehearsal.js';
import { NO_ROWS } from './select/rows.js';
import { useStore } from './state/store.js';

// The map and the plot are most of the page's code: the day and the sheet are on the table before they come.
const ChartSheet = lazy(() => import('./chart/chart-sheet.js').then(({ ChartSheet }) => ({ default: ChartSheet })));
const BoatStrip = lazy(() => import('./strip/boat-strip.js').then(({ BoatStrip }) => ({ default: BoatStrip })));
const TrialStripSheet = lazy(() => import('./strip/trial-strip-sheet.js').then(({ TrialStripSheet }) => ({ default: TrialStripSheet })));
const RehearseStrip = lazy(() => import('./strip/rehearse-strip.js').then(({ RehearseStrip }) => ({ default: RehearseStrip })));
const StripSheet = lazy(() => import('./strip/strip-sheet.js').then(({ StripSheet }) => ({ default: StripSheet })));
const PointsSheet = lazy(() => import('./points/points-sheet.js').then(({ PointsSheet }) => ({ default: PointsSheet })));
const CorrectionsSheet = lazy(() => import('./strip/corrections-sheet.js').then(({ CorrectionsSheet }) => ({ default: CorrectionsSheet })));
const WaterfallSheet = lazy(() => import('./waterfall/waterfall-sheet.js').then(({ WaterfallSheet }) => ({ default: WaterfallSheet })));
const ProfileSheet = lazy(() => import('./profile/profile-sheet.js').then(({ ProfileSheet }) => ({ default: ProfileSheet })));

/** The chart table: the day across the top, the chart, the sheet of the stage at hand, the time strip. */
export function App() {
  const stage = useStore(screen, (now) => now.stage);
  const hasSoundings = useStore(survey, (now) => now.summary?.soundings != null || (now.soundings?.n ?? 0) > 0);
  const boatStrip = useStore(boat, (now) => now.card !== null) && stage === 'boat';
  const trialStrip = useStore(trials, (now) => now.loaded !== null && now.strip === 'log') && stage === 'boat';
  const rehearseStrip = useStore(rehearsal, (now) => shownOf(now) !== null) && stage === 'rehearse';
  const points = useStore(depths, (now) => now.points) && stage === 'depths' && hasSoundings;
  const waterfall = useStore(imagery, (now) => now.pings !== null || now.loading) && (stage === 'imagery' || stage === 'finds');
  const wide = useStore(imagery, (now) => now.wide);
  const strip = useStore(depths, (now) => now.strip);
  const said = useStore(session, (now) => now.said);
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      const typing = event.target instanceof HTMLElement && event.target.closest('input, textarea, select') !== null;
      if (typing) return;
      const command = event.ctrlKey || event.metaKey;
      if (command && event.key.toLowerCase() === 'z') {
        event.preventDefault();
        void undo(event.shiftKey);
      } else if (event.key === 'Escape') {
        session.update((now) => ({ ...now, selection: NO_ROWS }));
        if (screen.get().stage === 'boat' && (trials.get().selected !== null || trials.get().span !== null || trials.get().lit.length > 0)) selectTrial(null, 'sheet');
        screen.update((now) => (now.tool !== 'edit' && now.tool !== 'look' ? { ...now, tool: 'look' } : now));
      } else if (event.key === 'F8' && screen.get().stage === 'depths') {
        event.preventDefault();
        goToFlagged(event.shiftKey ? -1 : 1);
      } else if (event.key === 'Delete' && session.get().selection.length > 0) {
        void decide('set-aside', session.get().selection);
      }
    };
    addEventListener('keydown', onKey);
    return () => removeEventListener('keydown', onKey);
  }, []);
  return (
    <div className={waterfall ? 'table no-strip' : trialStrip || rehearseStrip || (hasSoundings && stage === 'lines') ? 'table tall-sheet' : hasSoundings || boatStrip ? 'table' : 'table no-strip'}>
      <DayBar />
      <main className={waterfall ? (wide ? 'work with-waterfall wide' : 'work with-waterfall') : points ? 'work with-points' : 'work'}>
        <h1 className="unseen">Chart table</h1>
        <Suspense fallback={<section className="chart" aria-label="Chart" />}>
          <ChartSheet />
        </Suspense>
        {points && (
          <Suspense fallback={<section className="points" aria-label="Points in space" />}>
            <PointsSheet />
          </Suspense>
        )}
        {waterfall && (
          <Suspense fallback={<section className="waterfall" aria-label="Waterfall" />}>
            <WaterfallSheet />
          </Suspense>
        )}
        <SheetFor stage={stage} />
      </main>
      {trialStrip && (
        <Suspense fallback={<section className="strip trial-strip" aria-label="Time strip of the trials" />}>
          <TrialStripSheet />
        </Suspense>
      )}
      {rehearseStrip && (
        <Suspense fallback={<section className="strip rehearse-strip" aria-label="Time strip of the rehearsal" />}>
          <RehearseStrip />
        </Suspense>
      )}
      {boatStrip && !trialStrip && (
        <Suspense fallback={<section className="strip" aria-label="Curves of the boat" />}>
          <BoatStrip />
        </Suspense>
      )}
      {hasSoundings && !waterfall && !boatStrip && !trialStrip && !rehearseStrip && (
        <Suspense fallback={<section className="strip" aria-label="Time strip" />}>
          {stage === 'depths' && strip === 'profile' ? <ProfileSheet /> : stage === 'depths' && strip === 'corrections' ? <CorrectionsSheet /> : <StripSheet />}
        </Suspense>
      )}
      <DropZone />
      <div className="unseen" role="status" aria-live="polite">
        {said}
      </div>
    </div>
  );
}
