import type { z } from 'zod';
import { UseError } from '../base/errors.js';
import { layoutFaults, type RecordLayout } from '../formats/record-layout.js';
import { insideFolder, readTextIfThere } from './folder.js';
import { layoutSchema, type layoutSetting } from './sonar-layout-schema.js';

/**
 * The layouts that a survey knows, those in files read.
 * @throws UseError that names the file, what is wrong and where
 */
export async function sonarLayouts(folder: string, layouts: readonly z.infer<typeof layoutSetting>[]): Promise<readonly RecordLayout[]> {
  const read: RecordLayout[] = [];
  for (const layout of layouts) {
    const one = typeof layout === 'string' ? await fromFile(folder, layout) : layout;
    const faults = layoutFaults(one);
    if (faults.length > 0) throw new UseError(`${typeof layout === 'string' ? layout : `sonar.layouts, ${JSON.stringify(one.name)}`}: ${faults.join('; ')}`, { path: typeof layout === 'string' ? layout : 'survey.json' });
    read.push(one);
  }
  return read;
}

async function fromFile(folder: string, relative: string): Promise<RecordLayout> {
  const text = await readTextIfThere(insideFolder(folder, relative, 'sonar.layouts'));
  if (text === null) throw new UseError(`${relative}: the layout of side-scan records that sonar.layouts names is not there; put it into the survey folder, or take it out of the setting`, { path: relative });
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw new UseError(`${relative}: not valid JSON: ${(error as Error).message}`, { path: relative });
  }
  const result = layoutSchema.safeParse(value);
  if (result.success) return result.data;
  const issue = result.error.issues[0];
  throw new UseError(`${relative}: ${issue === undefined || issue.path.length === 0 ? '' : `${issue.path.join('.')}: `}${issue?.message ?? 'not a layout'}; docs/formats.md says how a layout is written`, { path: relative });
}

/** The layout for a file by its name; null where there is none. */
export function layoutFor(fileName: string, layouts: readonly RecordLayout[]): RecordLayout | null {
  return layouts.find(({ files }) => files.some((ending) => fileName.toLowerCase().endsWith(ending.toLowerCase()))) ?? null;
}
