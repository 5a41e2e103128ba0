import { spawnSync } from 'node:child_process';

/** Whether a program can be started here. */
export function hasProgram(name: string): boolean {
  return spawnSync(name, ['--version'], { stdio: 'ignore' }).error === undefined;
}
