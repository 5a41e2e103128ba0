import { timingSafeEqual } from 'node:crypto';
import type { IncomingHttpHeaders } from 'node:http';
import { TOKEN_HEADER } from './api.js';
import { RequestError } from './request-error.js';

/** Names by which this machine may be called. A page elsewhere that points its own name here (DNS rebinding) is not among them. */
const OWN_NAMES = ['localhost', '127.0.0.1', '[::1]'];

/** Methods that change nothing. */
const SAFE_METHODS = new Set(['GET', 'HEAD']);

/**
 * Refuses a request that does not come from our own page or from a program on this machine.
 *
 * - The Host header must be this machine's name with our port.
 * - An Origin header, where there is one, must be our own; a browser's note that the request comes from another site
 *   (Sec-Fetch-Site) is refused for everything but opening the page itself.
 * - What changes something must carry the token that /api/state gave.
 *
 * @throws RequestError 403
 * Source: Fetch Metadata Request Headers (W3C), RFC 6454 section 7, RFC 9112 section 3.2.
 */
export function guardRequest(request: { readonly method: string; readonly url: string; readonly headers: IncomingHttpHeaders }, port: number, token: string): void {
  const { method, url, headers } = request;
  const host = headers.host ?? '';
  if (!ownHosts(port).includes(host.toLowerCase())) {
    throw new RequestError(403, 'the request names another machine', { expected: `localhost:${port}`, found: shown(host), fix: `open http://localhost:${port}/` });
  }
  const { origin } = headers;
  if (origin !== undefined && origin.toLowerCase() !== `http://${host.toLowerCase()}`) {
    throw new RequestError(403, 'the request comes from another site', { expected: `http://${host}`, found: shown(origin) });
  }
  const site = headers['sec-fetch-site'];
  const opensPage = SAFE_METHODS.has(method) && headers['sec-fetch-mode'] === 'navigate' && !url.startsWith('/api/');
  if (site !== undefined && site !== 'same-origin' && site !== 'none' && !opensPage) {
    throw new RequestError(403, 'the request comes from another site', { expected: 'same-origin', found: shown(String(site)) });
  }
  if (!SAFE_METHODS.has(method) && !sameToken(headers[TOKEN_HEADER], token)) {
    throw new RequestError(403, `the header ${TOKEN_HEADER} is missing or from an earlier start of the server`, { fix: 'load the page again' });
  }
}

function ownHosts(port: number): string[] {
  const hosts = OWN_NAMES.map((name) => `${name}:${port}`);
  return port === 80 ? [...hosts, ...OWN_NAMES] : hosts;
}

function sameToken(found: string | string[] | undefined, token: string): boolean {
  if (typeof found !== 'string') return false;
  const a = Buffer.from(found);
  const b = Buffer.from(token);
  return a.length === b.length && timingSafeEqual(a, b);
}

/** A header's value as a message may show it. */
function shown(value: string): string {
  return value === '' ? 'nothing' : value.slice(0, 100);
}

/**
 * Headers of every answer. Scripts, styles, fonts and connections from here alone; nothing inline runs. WebAssembly is
 * allowed, since polygon work runs in it; blob workers and blob or data images, since the map makes them.
 */
export const SECURITY_HEADERS: Readonly<Record<string, string>> = {
  'content-security-policy':
    "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self' blob:; img-src 'self' data: blob:; " +
    "object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
  'referrer-policy': 'no-referrer',
  'x-content-type-options': 'nosniff',
};
