import { existsSync } from 'node:fs';
import { mkdtemp } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium, type Browser, type Page } from 'playwright-core';
import { build } from 'vite';

const PLACES = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome', '/usr/bin/google-chrome-stable'];

/** The browser of this machine, or null: then tests of the page are skipped, unless TALLOW_REQUIRE_BROWSER=1. */
export const BROWSER_PATH: string | null = PLACES.find((place) => existsSync(place)) ?? null;

/** Whether to run the page's tests; fails at once where a browser is demanded and missing. */
export function browserWanted(): boolean {
  if (BROWSER_PATH !== null) return true;
  if (process.env['TALLOW_REQUIRE_BROWSER'] === '1') throw new Error(`TALLOW_REQUIRE_BROWSER=1: expected a browser at ${PLACES.join(' or ')}, found none; install chromium`);
  console.warn(`page: no browser at ${PLACES.join(', ')}: its tests are skipped (apt-get install chromium)`);
  return false;
}

export async function launchBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: BROWSER_PATH as string,
    args: ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
  });
}

/** Builds the page as it is shipped, to a folder of its own. */
export async function buildPage(): Promise<string> {
  const outDir = await mkdtemp(path.join(tmpdir(), 'tallow-page-'));
  await build({ configFile: fileURLToPath(new URL('../../vite.config.ts', import.meta.url)), logLevel: 'error', root: fileURLToPath(new URL('../../src/page', import.meta.url)), build: { outDir, emptyOutDir: true } });
  return outDir;
}

/** A tab that remembers everything that went wrong in it, and every request that left this machine. */
export interface WatchedPage {
  readonly page: Page;
  readonly faults: string[];
}

export async function openPage(browser: Browser, url: string, size = { width: 1440, height: 900 }): Promise<WatchedPage> {
  const page = await browser.newPage({ viewport: size, acceptDownloads: true });
  const faults: string[] = [];
  page.on('pageerror', (error) => faults.push(`error: ${error.message}`));
  page.on('console', (message) => {
    if (message.type() === 'error' && !/ReadPixels/.test(message.text())) faults.push(`console: ${message.text()}`);
  });
  page.on('request', (request) => {
    if (!request.url().startsWith(new URL(url).origin) && !/^(blob|data):/.test(request.url())) faults.push(`outside: ${request.url()}`);
  });
  await page.goto(url);
  return { page, faults };
}

/** Waits until the survey is read and the strip drawn. */
export async function surveyShown(page: Page): Promise<void> {
  await page.locator('.strip-plot canvas').waitFor();
  await page.locator('.chart-note').waitFor({ state: 'detached' });
  await page.waitForTimeout(250);
}
