import path from 'node:path';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { readByteRange } from './byte-range.js';
import { RequestError } from './request-error.js';
import type { OpenedFile } from './safe-file.js';

const CONTENT_TYPES: Readonly<Record<string, string>> = {
  '.avif': 'image/avif',
  '.css': 'text/css; charset=utf-8',
  '.csv': 'text/csv; charset=utf-8',
  '.geojson': 'application/geo+json',
  '.gpx': 'application/gpx+xml',
  '.html': 'text/html; charset=utf-8',
  '.ico': 'image/x-icon',
  '.jpg': 'image/jpeg',
  '.js': 'text/javascript; charset=utf-8',
  '.json': 'application/json',
  '.jsonl': 'application/jsonl',
  '.kml': 'application/vnd.google-earth.kml+xml',
  '.map': 'application/json',
  '.md': 'text/markdown; charset=utf-8',
  '.mjs': 'text/javascript; charset=utf-8',
  '.parquet': 'application/vnd.apache.parquet',
  '.pdf': 'application/pdf',
  '.png': 'image/png',
  '.svg': 'image/svg+xml',
  '.tif': 'image/tiff',
  '.txt': 'text/plain; charset=utf-8',
  '.wasm': 'application/wasm',
  '.webmanifest': 'application/manifest+json',
  '.webp': 'image/webp',
  '.woff2': 'font/woff2',
  '.xml': 'application/xml',
  '.zip': 'application/zip',
};

/** What a file is said to be, by the end of its name. */
export function contentTypeOf(name: string): string {
  return CONTENT_TYPES[path.posix.extname(name).toLowerCase()] ?? 'application/octet-stream';
}

/**
 * Answers with a file: whole, a part of it, or a note that the asker's copy is still good.
 * The file is closed in every case.
 *
 * @param cacheControl what the browser may do with its copy
 * @throws RequestError 416 for a range that is not there
 * Source: RFC 9110 sections 13 (conditional requests) and 14 (ranges).
 */
export async function sendFile(request: FastifyRequest, reply: FastifyReply, file: OpenedFile, name: string, cacheControl: string): Promise<FastifyReply> {
  const { headers } = request;
  void reply.headers({
    'accept-ranges': 'bytes',
    'cache-control': cacheControl,
    'content-type': contentTypeOf(name),
    etag: file.etag,
    'last-modified': new Date(file.modifiedMs).toUTCString(),
  });
  if (isSame(headers['if-none-match'], file.etag)) {
    await file.handle.close();
    return reply.code(304).removeHeader('content-type').send();
  }
  // If-Range: a part only of the very file the asker has the rest of.
  const ifRange = headers['if-range'];
  const range = ifRange === undefined || ifRange === file.etag ? readByteRange(headers.range, file.bytes) : { kind: 'whole' as const };
  if (range.kind === 'none') {
    await file.handle.close();
    void reply.header('content-range', `bytes */${file.bytes}`).type('application/json');
    throw new RequestError(416, 'the file has no such range', { expected: `within 0 to ${file.bytes - 1}`, found: String(headers.range).slice(0, 100) });
  }
  const [start, end] = range.kind === 'part' ? [range.start, range.end] : [0, file.bytes];
  if (range.kind === 'part') void reply.code(206).header('content-range', `bytes ${start}-${end - 1}/${file.bytes}`);
  void reply.header('content-length', end - start);
  if (request.method === 'HEAD' || end === start) {
    await file.handle.close();
    return reply.send(request.method === 'HEAD' ? undefined : Buffer.alloc(0));
  }
  return reply.send(file.handle.createReadStream({ start, end: end - 1, autoClose: true }));
}

function isSame(ifNoneMatch: string | undefined, etag: string): boolean {
  if (ifNoneMatch === undefined) return false;
  return ifNoneMatch.trim() === '*' || ifNoneMatch.split(',').some((each) => each.trim().replace(/^W\//, '') === etag);
}
