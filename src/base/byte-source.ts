/** Bytes that can be read in parts: a file, a browser Blob, or a buffer in a test. */
export interface ByteSource {
  /** What to call it in messages: usually the file's name. */
  readonly name: string;
  readonly byteLength: number;
  /** The bytes [start, end); shorter only at the end of the source. */
  read(start: number, end: number, signal?: AbortSignal): Promise<Uint8Array>;
}

/** A byte source over bytes in memory. */
export function bytesSource(name: string, bytes: Uint8Array): ByteSource {
  return {
    name,
    byteLength: bytes.byteLength,
    read: (start, end) => Promise.resolve(bytes.subarray(start, Math.min(end, bytes.byteLength))),
  };
}

/** Where a writer puts bytes, in order. */
export interface ByteSink {
  write(bytes: Uint8Array): Promise<void>;
}

/** A sink that keeps everything in memory; `bytes()` joins it. */
export function memorySink(): ByteSink & { bytes(): Uint8Array } {
  const parts: Uint8Array[] = [];
  let length = 0;
  return {
    write(bytes) {
      parts.push(bytes.slice());
      length += bytes.byteLength;
      return Promise.resolve();
    },
    bytes() {
      const joined = new Uint8Array(length);
      let at = 0;
      for (const part of parts) {
        joined.set(part, at);
        at += part.byteLength;
      }
      return joined;
    },
  };
}
