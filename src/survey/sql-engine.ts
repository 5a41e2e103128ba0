import initSqlJs, { type SqlJsStatic } from 'sql.js';

let engine: Promise<SqlJsStatic> | null = null;

/** SQLite in memory; loaded once, when it is first needed. */
export function sqlEngine(): Promise<SqlJsStatic> {
  engine ??= initSqlJs();
  return engine;
}
