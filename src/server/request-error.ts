import { CancelledError, FormatError, UnsupportedError, UseError } from '../base/errors.js';
import { plainSystemError } from '../survey/system-errors.js';
import type { ErrorBody } from './api.js';

/** A request that is refused, with the status it is answered with. */
export class RequestError extends Error {
  override readonly name = 'RequestError';
  constructor(
    readonly status: number,
    message: string,
    readonly detail: Omit<ErrorBody, 'message'> = {},
  ) {
    super(message);
  }
}

/** The library's own codes, in our words. */
const BY_CODE: Readonly<Record<string, readonly [number, string]>> = {
  FST_ERR_CTP_BODY_TOO_LARGE: [413, 'the request is too large'],
  FST_ERR_CTP_INVALID_MEDIA_TYPE: [415, 'expected application/json'],
  FST_ERR_CTP_EMPTY_JSON_BODY: [400, 'the request has no body: expected JSON'],
  FST_ERR_CTP_INVALID_JSON_BODY: [400, 'the body is not JSON'],
  FST_ERR_CTP_INVALID_CONTENT_LENGTH: [400, 'the request was cut short'],
  FST_ERR_BAD_URL: [400, 'the address is not well formed'],
  FST_ERR_MAX_PARAM_LENGTH: [400, 'the address is too long'],
};

/** What an error is answered with. `foreseen` is false for what is a fault of ours. */
export interface Answer {
  readonly status: number;
  readonly body: ErrorBody;
  readonly foreseen: boolean;
}

/** An error as status and words; never a stack trace. */
export function answerFor(raised: unknown): Answer {
  const error = plainSystemError(raised, 'the survey folder');
  if (error instanceof RequestError) return { status: error.status, body: { message: error.message, ...error.detail }, foreseen: true };
  if (error instanceof UseError || error instanceof FormatError) {
    const { expected, found } = error instanceof UseError ? error.what : error.detail;
    const fix = error instanceof UseError ? error.what.fix : undefined;
    return {
      status: 400,
      body: { message: error.message, ...(expected === undefined ? {} : { expected }), ...(found === undefined ? {} : { found }), ...(fix === undefined ? {} : { fix }) },
      foreseen: true,
    };
  }
  if (error instanceof UnsupportedError) return { status: 400, body: { message: error.message }, foreseen: true };
  if (error instanceof CancelledError) return { status: 409, body: { message: error.message }, foreseen: true };
  const { code, statusCode } = (error ?? {}) as { code?: unknown; statusCode?: unknown };
  const known = typeof code === 'string' ? BY_CODE[code] : undefined;
  if (known) return { status: known[0], body: { message: known[1] }, foreseen: true };
  if (typeof statusCode === 'number' && statusCode >= 400 && statusCode < 500) {
    // The JSON parser's complaint, e.g. about a forbidden key.
    return { status: statusCode, body: { message: 'the request is not well formed', found: firstLine(error) }, foreseen: true };
  }
  return { status: 500, body: { message: `something went wrong that was not foreseen: ${firstLine(error)}`, fix: 'try again; if it stays, run `tallow check` on the folder and report it' }, foreseen: false };
}

function firstLine(error: unknown): string {
  const message = error instanceof Error ? error.message : String(error);
  return (message.split('\n', 1)[0] ?? '').slice(0, 300);
}
