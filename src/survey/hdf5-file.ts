import { File as Hdf5File, Module, ready } from 'h5wasm/node';
import type { OpenHdf5 } from '../formats/sonar-netcdf-read.js';

/** Opens an HDF5 file where it lies on the disk, for reading; only what is asked for comes into memory. */
export async function openHdf5File(file: string): Promise<OpenHdf5> {
  await ready;
  // What is wrong with a damaged file is told by us, not by the library on the terminal.
  Module.activate_throwing_error_handler();
  const opened = new Hdf5File(file, 'r');
  return { file: opened, module: Module, close: () => void opened.close() };
}
