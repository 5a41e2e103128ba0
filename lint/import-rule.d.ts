export const ALLOWED: Readonly<Record<string, readonly string[] | '*'>>;
export const OUTSIDE: readonly string[];
export const TYPES_ONLY: Readonly<Record<string, readonly string[]>>;
export function importFault(fromRoom: string, specifier: string, toRoom: string | null, typeOnly: boolean): string | null;
export function roomOf(file: string): string | null;
