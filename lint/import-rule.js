// The import rule of docs/design.md as a lint rule: which room may import which, and which rooms may touch the outside.
import path from 'node:path';

const BOTTOM = ['base', 'geo', 'water'];

/** Which rooms each room may import, its own always included. */
export const ALLOWED = {
  base: [],
  geo: ['base'],
  water: ['base', 'geo'],
  boat: [...BOTTOM],
  lines: [...BOTTOM, 'boat'],
  depths: [...BOTTOM, 'boat'],
  imagery: [...BOTTOM, 'boat'],
  rehearse: [...BOTTOM, 'boat', 'lines', 'depths', 'imagery'],
  finds: [...BOTTOM, 'boat', 'lines', 'depths', 'imagery'],
  meadow: [...BOTTOM, 'boat', 'lines', 'depths', 'imagery'],
  formats: [...BOTTOM],
  proving: [...BOTTOM, 'formats'],
  survey: '*',
  report: '*',
  cli: ['base', 'boat', 'survey', 'report', 'server'],
  server: ['base', 'survey', 'report'],
  page: [...BOTTOM, 'boat', 'lines', 'depths', 'imagery', 'rehearse', 'finds', 'meadow', 'formats'],
};

/** Rooms that may import node:* modules. */
export const OUTSIDE = ['survey', 'report', 'cli', 'server'];

/** Type-only imports the page may make beyond its list: it talks to the server in its types. */
export const TYPES_ONLY = { page: ['server', 'survey', 'report'] };

/**
 * Why an import is not allowed, or null where it is.
 * @param {string} fromRoom @param {string} specifier @param {string | null} toRoom @param {boolean} typeOnly
 */
export function importFault(fromRoom, specifier, toRoom, typeOnly) {
  if (specifier.startsWith('node:')) {
    return OUTSIDE.includes(fromRoom) ? null : `${fromRoom} is a pure room: it may not import ${specifier}`;
  }
  if (toRoom === null || toRoom === fromRoom) return null;
  const allowed = ALLOWED[fromRoom];
  if (allowed === undefined) return `unknown room ${fromRoom}: add it to lint/import-rule.js and docs/design.md`;
  if (allowed === '*') {
    return ['cli', 'server', 'page'].includes(toRoom) ? `${fromRoom} may not import ${toRoom}` : null;
  }
  if (allowed.includes(toRoom)) return null;
  if (typeOnly && (TYPES_ONLY[fromRoom] ?? []).includes(toRoom)) return null;
  return `${fromRoom} may not import ${toRoom}`;
}

/** The room of a file under src/, or null. */
export function roomOf(file) {
  const parts = file.split(path.sep);
  const at = parts.lastIndexOf('src');
  return at >= 0 && at + 2 < parts.length + 0 ? (parts[at + 1] ?? null) : null;
}

/** @type {import('eslint').Rule.RuleModule} */
export const importRule = {
  meta: { type: 'problem', schema: [], messages: { fault: '{{fault}}' } },
  create(context) {
    const fromRoom = roomOf(context.filename);
    if (fromRoom === null) return {};
    const check = (node, specifier, typeOnly) => {
      if (typeof specifier !== 'string') return;
      const toRoom = specifier.startsWith('.')
        ? roomOf(path.resolve(path.dirname(context.filename), specifier))
        : null;
      const fault = importFault(fromRoom, specifier, toRoom, typeOnly);
      if (fault !== null) context.report({ node, messageId: 'fault', data: { fault } });
    };
    return {
      ImportDeclaration: (node) => check(node, node.source.value, node.importKind === 'type'),
      ExportNamedDeclaration: (node) => node.source && check(node, node.source.value, node.exportKind === 'type'),
      ExportAllDeclaration: (node) => check(node, node.source.value, node.exportKind === 'type'),
      ImportExpression: (node) => check(node, node.source.value, false),
    };
  },
};
