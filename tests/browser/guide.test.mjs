// The guide: its pages read well, and its pictures show the pages as they are today.
// With TAKE_PICTURES=1 the pictures are taken anew (`tests/browser/pictures`).

import assert from 'node:assert/strict';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, root } from './bench.mjs';
import { passesAxe, shots } from './look.mjs';
import { playScenes, VIEW } from './scenes.mjs';

const kept = join(root, 'docs', 'guide', 'pictures');
/** A picture that shows the same differs in its bytes by less: a trace, a minute, a rounded pixel. */
const MOST = 0.25;

let bench;
let page;

before(async () => {
  bench = await Bench.start();
  page = await bench.watched(await bench.browser.newContext({ viewport: VIEW }));
  await bench.letIn(page);
});

after(() => bench?.stop());

/** Width and height of a PNG (ISO/IEC 15948: its first chunk). */
const size = (png) => ({ width: png.readUInt32BE(16), height: png.readUInt32BE(20) });

test("the guide's pictures show what the pages show today", async () => {
  mkdirSync(kept, { recursive: true });
  const grown = [];
  await playScenes(bench, page, async (name) => {
    const file = `${name}.png`;
    const taken = await page.screenshot({ path: join(shots, `guide-${file}`), animations: 'disabled', caret: 'hide' });
    if (process.env.TAKE_PICTURES) return writeFileSync(join(kept, file), taken);
    const old = readFileSync(join(kept, file));
    assert.deepEqual(size(old), VIEW, file);
    const share = Math.abs(taken.length - old.length) / old.length;
    console.log(`${file}: ${old.length} bytes kept, ${taken.length} taken, ${(100 * share).toFixed(1)} % apart`);
    if (share > MOST) grown.push(file);
  });
  assert.deepEqual(grown, [], 'these no longer look like their pages: tests/browser/pictures takes them anew');
  assert.deepEqual(page.faults, []);
});

test('every page of the guide is reached, passes axe and fits a telephone', async () => {
  await page.setViewportSize({ width: 390, height: 844 });
  await page.goto(`http://${bench.address}/jobs`);
  await page.getByRole('link', { name: 'Guide', exact: true }).click();
  await page.waitForURL('**/guide');
  const pages = await page.locator('.guide a').evaluateAll((all) => all.map((one) => one.getAttribute('href')));
  assert.ok(pages.length >= 8, `${pages.length} pages`);
  for (const one of ['/guide', ...pages]) {
    const answer = await page.goto(`http://${bench.address}${one}`);
    assert.equal(answer.status(), 200, one);
    for (const colorScheme of ['light', 'dark']) {
      await page.emulateMedia({ colorScheme });
      await passesAxe(page, `${one}, ${colorScheme}`);
    }
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= 390, `${one} is ${wide} px wide`);
    const missing = await page.locator('.guide img').evaluateAll((all) => all.filter((one) => !one.complete || one.naturalWidth === 0).length);
    assert.equal(missing, 0, `${one}: every picture is there`);
  }
  const nowhere = await page.goto(`http://${bench.address}/guide/nowhere`);
  assert.equal(nowhere.status(), 404);
  assert.deepEqual(page.faults, []);
});
