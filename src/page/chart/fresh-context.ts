/** A canvas made of so many CSS pixels on this screen and wiped, to be drawn on in CSS pixels; null where there is no room. */
export function freshContext(canvas: HTMLCanvasElement, widthPx: number, heightPx: number): CanvasRenderingContext2D | null {
  const ratio = devicePixelRatio;
  const [width, height] = [Math.round(widthPx * ratio), Math.round(heightPx * ratio)];
  if (width < 2 || height < 2) return null;
  if (canvas.width !== width) canvas.width = width;
  if (canvas.height !== height) canvas.height = height;
  const ctx = canvas.getContext('2d');
  ctx?.setTransform(ratio, 0, 0, ratio, 0, 0);
  ctx?.clearRect(0, 0, width / ratio, height / ratio);
  return ctx;
}
