import { ensureBuilt, ensureInstalled, requireNode } from './prepare.js';

requireNode();
ensureInstalled();
ensureBuilt(true);
