/** How points in space are looked at: a parallel projection, so that lengths across the view can be compared. */
export interface Camera {
  /** What stands in the middle of the view, in the survey frame, and its depth [m]. */
  readonly xM: number;
  readonly yM: number;
  readonly depthM: number;
  /** Grid bearing one looks along [deg]. */
  readonly bearingDeg: number;
  /** Angle of the view below the horizon: 90 looks straight down [deg]. */
  readonly tiltDeg: number;
  readonly pxPerM: number;
  /** Depths are drawn this many times as high as they are. */
  readonly exaggeration: number;
}

/** The projection of a camera: x right, y down the screen [px], z away from the eye [m drawn]. */
export interface Projection {
  /** Along the screen to the right, per metre east and north [px/m]. */
  readonly rightE: number;
  readonly rightN: number;
  /** Up the screen, per metre east, north and of depth [px/m]. */
  readonly upE: number;
  readonly upN: number;
  readonly upDepth: number;
  /** Away from the eye, per metre east, north and of depth. */
  readonly awayE: number;
  readonly awayN: number;
  readonly awayDepth: number;
}

export function projectionOf({ bearingDeg, tiltDeg, pxPerM, exaggeration }: Camera): Projection {
  const bearing = (bearingDeg * Math.PI) / 180;
  const tilt = (tiltDeg * Math.PI) / 180;
  const [forwardE, forwardN] = [Math.sin(bearing), Math.cos(bearing)];
  return {
    rightE: forwardN * pxPerM,
    rightN: -forwardE * pxPerM,
    upE: forwardE * Math.sin(tilt) * pxPerM,
    upN: forwardN * Math.sin(tilt) * pxPerM,
    upDepth: -exaggeration * Math.cos(tilt) * pxPerM,
    awayE: forwardE * Math.cos(tilt),
    awayN: forwardN * Math.cos(tilt),
    awayDepth: exaggeration * Math.sin(tilt),
  };
}

/** Where a place falls on a screen [px]. */
export function project(camera: Camera, widthPx: number, heightPx: number, xM: number, yM: number, depthM: number): { readonly x: number; readonly y: number } {
  const p = projectionOf(camera);
  const [e, n, d] = [xM - camera.xM, yM - camera.yM, depthM - camera.depthM];
  return { x: widthPx / 2 + e * p.rightE + n * p.rightN, y: heightPx / 2 - (e * p.upE + n * p.upN + d * p.upDepth) };
}

const clamp = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value));

export function orbit(camera: Camera, turnDeg: number, tiltDeg: number): Camera {
  return { ...camera, bearingDeg: (((camera.bearingDeg + turnDeg) % 360) + 360) % 360, tiltDeg: clamp(camera.tiltDeg + tiltDeg, 0, 90) };
}

/** Moves what is seen by so much across the screen [px]; the middle keeps its depth unless the view is nearly level. */
export function pan(camera: Camera, rightPx: number, downPx: number): Camera {
  const p = projectionOf(camera);
  const right = rightPx / camera.pxPerM;
  const eastOfRight = p.rightE / camera.pxPerM;
  const northOfRight = p.rightN / camera.pxPerM;
  const steep = Math.sin((camera.tiltDeg * Math.PI) / 180);
  let { xM, yM, depthM } = camera;
  xM -= right * eastOfRight;
  yM -= right * northOfRight;
  if (steep > 0.35) {
    const forward = downPx / camera.pxPerM / steep;
    xM += forward * -northOfRight;
    yM += forward * eastOfRight;
  } else depthM -= downPx / -p.upDepth;
  return { ...camera, xM, yM, depthM };
}

/** Zooms so that what is under a place of the screen stays there; x and y from the middle, y down [px]. */
export function zoomAt(camera: Camera, by: number, x: number, y: number): Camera {
  const pxPerM = clamp(camera.pxPerM * by, 1e-4, 2000);
  const share = 1 - pxPerM / camera.pxPerM;
  return { ...pan({ ...camera, pxPerM }, x * share, y * share), pxPerM };
}

export function exaggerate(camera: Camera, by: number): Camera {
  return { ...camera, exaggeration: clamp(camera.exaggeration * by, 1, 200) };
}

/** A view that holds a box of soundings, from the south-east and above. */
export function cameraFor(box: { readonly westM: number; readonly southM: number; readonly eastM: number; readonly northM: number; readonly shoalM: number; readonly deepM: number }, widthPx: number, heightPx: number): Camera {
  const across = Math.hypot(box.eastM - box.westM, box.northM - box.southM) || 1;
  const high = Math.max(0.1, box.deepM - box.shoalM);
  // So high that the relief takes about an eighth of the width, rounded to what can be said.
  const wanted = clamp(across / 8 / high, 1, 50);
  const exaggeration = [1, 2, 3, 5, 10, 20, 30, 50].reduce((best, one) => (Math.abs(Math.log(one / wanted)) < Math.abs(Math.log(best / wanted)) ? one : best), 1);
  const camera: Camera = { xM: (box.westM + box.eastM) / 2, yM: (box.southM + box.northM) / 2, depthM: (box.shoalM + box.deepM) / 2, bearingDeg: 325, tiltDeg: 38, pxPerM: 1, exaggeration };
  let right = 1;
  let up = 1;
  for (const xM of [box.westM, box.eastM]) for (const yM of [box.southM, box.northM]) for (const depthM of [box.shoalM, box.deepM]) {
    const at = project(camera, 0, 0, xM, yM, depthM);
    right = Math.max(right, Math.abs(at.x));
    up = Math.max(up, Math.abs(at.y));
  }
  return { ...camera, pxPerM: clamp(Math.min((widthPx / 2 - 30) / right, (heightPx / 2 - 34) / up), 1e-4, 2000) };
}
