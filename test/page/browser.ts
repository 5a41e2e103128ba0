import { existsSync } from 'node:fs';
import { chromium, type Browser, type Page } from 'playwright-core';
import { expect } from 'vitest';

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
  page.setDefaultTimeout(60_000);
  await page.goto(url);
  return { page, faults };
}

/** Begins to edit the area; where the handle of its easternmost corner then is [px of the chart]: a disc of paper in the ink that was not there before. */
export async function easternHandle(page: Page): Promise<{ readonly x: number; readonly y: number }> {
  const paper = () =>
    page.evaluate(() => {
      const canvas = document.querySelectorAll<HTMLCanvasElement>('.chart-map canvas')[1] as HTMLCanvasElement;
      const { data } = (canvas.getContext('2d') as CanvasRenderingContext2D).getImageData(0, 0, canvas.width, canvas.height);
      const places: [number, number][] = [];
      for (let at = 0; at < data.length; at += 4) if (data[at + 3] === 255 && data[at] === 0xfb && data[at + 1] === 0xf9 && data[at + 2] === 0xf2) places.push([(at / 4) % canvas.width, Math.floor(at / 4 / canvas.width)]);
      return places;
    });
  const before = new Set((await paper()).map(String));
  await page.getByRole('button', { name: 'Edit the area' }).click();
  let handles: [number, number][] = [];
  await expect
    .poll(async () => {
      handles = (await paper()).filter((place) => !before.has(String(place)));
      return handles.length;
    })
    .toBeGreaterThan(20);
  const [x, y] = handles.reduce((most, place) => (place[0] > most[0] ? place : most));
  return { x: x - 3, y };
}

/**
 * Holds back what the page sends to an address: what shows meanwhile does not wait for the server.
 *
 * @returns lets it go, and what is sent there later
 */
export async function holdBack(page: Page, address: string): Promise<() => void> {
  let open = (): void => undefined;
  const gate = new Promise<void>((resolve) => (open = resolve));
  await page.route(address, async (route) => {
    await gate;
    await route.continue();
  });
  return () => open();
}

/** Waits until the survey is read and the strip drawn. */
export async function surveyShown(page: Page): Promise<void> {
  await page.locator('.strip-plot canvas').waitFor();
  await page.locator('.chart-note').waitFor({ state: 'detached' });
  await page.waitForTimeout(250);
}
