const HDF5 = [0x89, 0x48, 0x44, 0x46, 0x0d, 0x0a, 0x1a, 0x0a] as const;
const PNG = [0x89, 0x50, 0x4e, 0x47] as const;

/** Whether a file that begins so is an HDF5 file, as SONAR-netCDF4 files are. */
export function isHdf5(head: Uint8Array): boolean {
  return HDF5.every((byte, i) => head[i] === byte);
}

export function isPng(head: Uint8Array): boolean {
  return PNG.every((byte, i) => head[i] === byte);
}

/** Whether a file that begins so is a PNG or TIFF image. */
export function isImage(head: Uint8Array): boolean {
  const tiff = (head[0] === 0x49 && head[1] === 0x49 && head[2] === 0x2a && head[3] === 0) || (head[0] === 0x4d && head[1] === 0x4d && head[2] === 0 && head[3] === 0x2a);
  return tiff || isPng(head);
}
