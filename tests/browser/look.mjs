// Looks at the page: its words, its accessibility, its pictures.

import assert from 'node:assert/strict';
import { mkdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { until } from './bench.mjs';

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** Where pictures are kept. */
export const shots = join(dirname(fileURLToPath(import.meta.url)), 'shots');
mkdirSync(shots, { recursive: true });

export const text = (page, selector) => page.locator(selector).innerText();

export async function sees(page, selector, wanted, patience) {
  let last;
  await until(async () => {
    last = await text(page, selector);
    return wanted instanceof RegExp ? wanted.test(last) : last.includes(wanted);
  }, `${selector} to show ${wanted}`, patience).catch(async (error) => {
    throw new Error(`${error.message}; it shows ${JSON.stringify(last)}; ${await whole(page)}`);
  });
}

/** The first words of the whole page, for a failure: what stood there in place of what was waited for. */
async function whole(page) {
  const words = await page.locator('body').innerText().catch(() => 'nothing');
  return `the page: ${words.replaceAll(/\s+/g, ' ').slice(0, 400)}`;
}

/** The accessibility rules of WCAG 2.2 A and AA, and axe's own best practices. */
export async function passesAxe(page, where) {
  await page.evaluate(axeSource);
  const found = await page.evaluate(() => window.axe.run(document));
  const told = found.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.html).join(' | ')}`);
  assert.deepEqual(told, [], `axe at ${where}`);
}

/** Begins a route by the page's own panel. */
export async function startRoute(page, route, gauges = {}) {
  await page.keyboard.press('r');
  await page.locator('#route-panel').waitFor();
  await page.selectOption('#route-name', route);
  for (const [kind, gauge] of Object.entries(gauges)) await page.selectOption(`[data-kind=${kind}]`, gauge);
  await page.click('#route-start');
}
