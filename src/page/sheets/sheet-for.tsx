import type { Stage } from '../words/stages.js';
import { BoatSheet } from './boat-sheet.js';
import { DepthsSheet } from './depths-sheet.js';
import { FindsSheet } from './finds-sheet.js';
import { ImagerySheet } from './imagery-sheet.js';
import { LinesSheet } from './lines-sheet.js';
import { RehearseSheet } from './rehearse-sheet.js';
import { ReportSheet } from './report-sheet.js';
import { UnbuiltSheet } from './unbuilt-sheet.js';

/** The sheet at the chart's side: the stage at hand. */
export function SheetFor({ stage }: { readonly stage: Stage }) {
  switch (stage) {
    case 'boat':
      return <BoatSheet />;
    case 'lines':
      return <LinesSheet />;
    case 'rehearse':
      return <RehearseSheet />;
    case 'depths':
      return <DepthsSheet />;
    case 'imagery':
      return <ImagerySheet />;
    case 'finds':
      return <FindsSheet />;
    case 'report':
      return <ReportSheet />;
    default:
      return <UnbuiltSheet stage={stage} />;
  }
}
