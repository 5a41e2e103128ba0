/** What of the settings tells what depths are below. */
export interface DatumGround {
  readonly datum: string;
  readonly water: { readonly level: { readonly kind: string } };
  readonly corrections: { readonly waterLevel: boolean };
}

/** Whether a water level is given and taken off, so that depths are below the datum. */
export function isReducedToDatum({ water, corrections }: DatumGround): boolean {
  return water.level.kind !== 'none' && corrections.waterLevel;
}

/** What depths are below, in words: the datum where they are reduced to it, else the water of the moment, whatever datum is named. */
export function depthsBelow(ground: DatumGround): string {
  return isReducedToDatum(ground) ? ground.datum : 'the water surface of the day';
}
