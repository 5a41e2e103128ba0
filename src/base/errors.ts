/**
 * What can go wrong, in four kinds. The caller's own mistake is a RangeError or TypeError as usual.
 * One grammar for all messages: `where: what is wrong: expected ..., found ...; what happens or what to do`.
 */

/** A file whose content is not what its format allows. */
export class FormatError extends Error {
  override readonly name = 'FormatError';
  constructor(
    readonly code: string,
    readonly path: string,
    message: string,
    readonly detail: { readonly byteOffset?: number; readonly line?: number; readonly expected?: string; readonly found?: string } = {},
  ) {
    super(message);
  }
}

/** Valid input that this version does not handle; the message says what to do instead. */
export class UnsupportedError extends Error {
  override readonly name = 'UnsupportedError';
}

/** The user asked for something that cannot be done as asked; the message says what, where and what to do. */
export class UseError extends Error {
  override readonly name = 'UseError';
  constructor(
    message: string,
    readonly what: {
      readonly path?: string;
      readonly expected?: string;
      readonly found?: string;
      readonly fix?: string;
      /** Where it is on the chart, to be drawn: points [x, y], lines or open rings [x0, y0, x1, y1, ...] in the survey frame [m]. */
      readonly where?: readonly Float64Array[];
    } = {},
  ) {
    super(message);
  }
}

/** Work that was stopped at the user's request. */
export class CancelledError extends Error {
  override readonly name = 'CancelledError';
}

/** Whether an error is one of those we raise on purpose, with a message fit for the user. */
export function isExpectedError(error: unknown): error is Error {
  return (
    error instanceof FormatError ||
    error instanceof UnsupportedError ||
    error instanceof UseError ||
    error instanceof CancelledError
  );
}
