import { constants, rmSync, writeFileSync } from 'node:fs';
import { copyFile, mkdtemp, rm, truncate } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { File as Hdf5File, Module, ready } from 'h5wasm/node';
import type { OpenHdf5 } from '../formats/sonar-netcdf-read.js';
import type { Hdf5Scratch } from '../formats/sonar-netcdf-write.js';
import { openFileSource } from './file-source.js';
import { plainSystemError } from './system-errors.js';

/**
 * Opens an HDF5 file where it lies on the disk, for reading; only what is asked for comes into memory.
 * @param filledTo a copy of it is opened instead, filled up with zeros to this length [bytes]
 */
export async function openHdf5File(file: string, filledTo: number | null = null): Promise<OpenHdf5> {
  await ready;
  // What is wrong with a damaged file is told by us, not by the library on the terminal.
  Module.activate_throwing_error_handler();
  if (filledTo === null) {
    const opened = new Hdf5File(file, 'r');
    return { file: opened, module: Module, close: () => void opened.close() };
  }
  const folder = await mkdtemp(path.join(tmpdir(), 'tallow-hdf5-'));
  try {
    const copy = path.join(folder, 'filled.nc');
    await copyFile(file, copy, constants.COPYFILE_FICLONE);
    await truncate(copy, filledTo);
    const opened = new Hdf5File(copy, 'r');
    const close = (): void => {
      opened.close();
      rmSync(folder, { recursive: true, force: true });
    };
    return { file: opened, module: Module, close };
  } catch (error) {
    await rm(folder, { recursive: true, force: true });
    throw plainSystemError(error, folder);
  }
}

/** Makes an HDF5 file on the disk, at a place of its own that is removed when done. */
export async function openHdf5Scratch(place: string): Promise<Hdf5Scratch> {
  await ready;
  return {
    module: Module,
    inMemory: false,
    open(bytes) {
      writeFileSync(place, bytes);
      return new Hdf5File(place, 'a');
    },
    async *pieces(pieceBytes) {
      const source = await openFileSource(place);
      try {
        for (let at = 0; at < source.byteLength; at += pieceBytes) yield await source.read(at, at + pieceBytes);
      } finally {
        await source.close();
      }
    },
    remove: () => rm(place, { force: true }),
  };
}
