import { CancelledError, UseError, isExpectedError } from '../base/errors.js';

/** An error on its way from a thread: errors do not keep their class when they are sent. */
export interface ThreadFailure {
  readonly kind: 'failed';
  readonly message: string;
  readonly expected: boolean;
  readonly cancelled: boolean;
  readonly what: UseError['what'];
}

/** What a thread sends of an error. */
export function threadFailure(error: unknown): ThreadFailure {
  return {
    kind: 'failed',
    message: error instanceof Error ? error.message : String(error),
    expected: isExpectedError(error),
    cancelled: error instanceof CancelledError,
    what: error instanceof UseError ? error.what : {},
  };
}

/** The error that was sent, as far as its user is concerned. */
export function failureError({ message, expected, cancelled, what }: ThreadFailure): Error {
  return cancelled ? new CancelledError(message) : expected ? new UseError(message, what) : new Error(message);
}
