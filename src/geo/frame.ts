import proj4 from 'proj4';

/** The survey's own plane: a UTM zone on WGS 84. East and north in metres. */
export interface FrameSetting {
  readonly kind: 'utm';
  /** 1..60 */
  readonly zone: number;
  readonly hemisphere: 'north' | 'south';
}

/** A survey frame with its conversions. */
export interface Frame {
  readonly setting: FrameSetting;
  readonly epsg: number;
  /** e.g. `UTM 26 N`. */
  readonly label: string;
  readonly proj4: string;
  /** Degrees to frame metres, [east, north]. */
  toFrame(latDeg: number, lonDeg: number): [number, number];
  /** Frame metres to degrees, [lat, lon]. */
  toGeographic(xM: number, yM: number): [number, number];
}

/**
 * The UTM zone a position lies in, without the exceptions for Norway and Svalbard (a survey frame may be any zone).
 * @throws RangeError outside latitude -80..84, where UTM is not defined
 */
export function frameSettingFor(latDeg: number, lonDeg: number): FrameSetting {
  if (!(latDeg >= -80 && latDeg <= 84)) throw new RangeError(`latDeg ${latDeg}: UTM covers -80 to 84`);
  if (!(lonDeg >= -180 && lonDeg <= 180)) throw new RangeError(`lonDeg ${lonDeg}: expected -180 to 180`);
  const zone = Math.min(60, Math.floor((lonDeg + 180) / 6) + 1);
  return { kind: 'utm', zone, hemisphere: latDeg >= 0 ? 'north' : 'south' };
}

/**
 * The survey frame of a setting. Conversions are proj4's, which agrees with PROJ to a micrometre inside a zone.
 * @throws RangeError for a zone outside 1..60
 */
export function createFrame(setting: FrameSetting): Frame {
  const { zone, hemisphere } = setting;
  if (!Number.isInteger(zone) || zone < 1 || zone > 60) throw new RangeError(`zone ${zone}: expected 1 to 60`);
  const definition = `+proj=utm +zone=${zone}${hemisphere === 'south' ? ' +south' : ''} +datum=WGS84 +units=m +no_defs`;
  const converter = proj4('+proj=longlat +datum=WGS84 +no_defs', definition);
  return {
    setting,
    epsg: (hemisphere === 'south' ? 32700 : 32600) + zone,
    label: `UTM ${zone} ${hemisphere === 'south' ? 'S' : 'N'}`,
    proj4: definition,
    toFrame: (latDeg, lonDeg) => converter.forward([lonDeg, latDeg]) as [number, number],
    toGeographic: (xM, yM) => {
      const [lonDeg, latDeg] = converter.inverse([xM, yM]) as [number, number];
      return [latDeg, lonDeg];
    },
  };
}
