// The whole job by the page alone: from an empty folder over chambers and decks to the report, a decision
// with its numbers, and a sheet. The gauges are read by eye, so that nothing is waited for.

import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, until } from './bench.mjs';
import { sees, shots } from './look.mjs';
import { SIZES } from './sizes.mjs';

let bench;
let page;

before(async () => {
  bench = await Bench.start();
  page = await bench.watched(await bench.browser.newContext({ viewport: { width: 1280, height: 800 } }));
  await page.goto(bench.board);
  await page.waitForURL('**/jobs');
});
after(() => bench?.stop());

const at = (path) => page.goto(`http://${bench.address}${path}`);

/** A picture at each size; no page may have to be pushed aside. */
async function looksAt(name) {
  for (const [size, width, height] of SIZES) {
    await page.setViewportSize({ width, height });
    // The page draws itself anew for its new size.
    const fits = () => document.documentElement.scrollWidth <= window.innerWidth;
    await page.waitForFunction(fits, undefined, { timeout: 5000 }).catch(() => {});
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= width, `${name} ${size}: ${wide} in ${width}`);
    await page.screenshot({ path: join(shots, `whole-${name}-${size}.png`), fullPage: true });
  }
  await page.setViewportSize({ width: 1280, height: 800 });
}

/** Types what a person reads at the stop where the board stands. */
async function reads(stop, value) {
  await sees(page, '#stop', stop);
  await page.keyboard.press('v');
  await page.locator('#type-ways [value=value]').check();
  await page.fill('#type-fields [name=value]', value);
  await page.click('#type-keep');
  await page.locator('#type-panel').waitFor({ state: 'hidden' });
}

test('a gauge of each kind is set up that is read by eye', async () => {
  await looksAt('jobs-empty');
  for (const [name, profile, resolution] of [['glass', 'ascii-volume', '0.1 cc'], ['indicator', 'ascii-length', '0.01 mm']]) {
    await at('/gauges');
    await page.getByRole('link', { name: 'A gauge that is read by eye' }).click();
    await page.fill('#name', name);
    await page.selectOption('#profile', profile);
    await page.fill('#resolution', resolution);
    await page.getByRole('button', { name: 'Set it up' }).click();
    await sees(page, '.line', 'read by eye');
  }
  await looksAt('gauge');
});

test('a job of two cylinders begins with what its compression needs', async () => {
  await at('/jobs/new');
  await page.getByLabel('Name of the job').fill('twin');
  await page.locator('[id="units"]').selectOption('metric');
  // The units beside the sizes follow.
  await until(async () => (await page.inputValue('[name="bore.unit"]')) === 'mm', 'sizes in millimetres');
  await page.locator('[id="name"]').fill('Invented twin');
  await page.locator('[id="cylinders"]').fill('2');
  await page.locator('[id="bore"]').fill('90,5');
  await page.locator('[id="stroke"]').fill('83');
  for (const group of ['Gasket', 'Pistons', 'Target']) {
    await page.locator('details.group > summary', { hasText: group }).click();
  }
  await page.locator('[id="gasket.bore"]').fill('92');
  await page.locator('[id="gasket.thickness"]').fill('1,1');
  await page.locator('[id="piston.crown"]').fill('-4');
  await page.locator('[id="targets.compression"]').fill('10,5');
  await looksAt('new');
  await page.getByRole('button', { name: 'Begin the job' }).click();
  await page.waitForURL('**/jobs/twin?told=*');
  await looksAt('job');
});

test('chambers, then decks', async () => {
  await page.getByRole('link', { name: 'Begin chambers', exact: true }).click();
  await page.getByLabel('Rounds').fill('1');
  await looksAt('begin');
  await page.getByRole('button', { name: 'Begin it' }).click();
  await reads('chamber 1', '52,4');
  assert.equal(await page.locator('.trace').isVisible(), false, 'no empty picture of a gauge that sends nothing');
  await looksAt('measure');
  await reads('chamber 2', '52.9');
  await sees(page, '#state', 'DONE');
  await looksAt('done');
  await at('/jobs/twin/begin/deck');
  await page.getByLabel('Rounds').fill('1');
  await page.getByRole('button', { name: 'Begin it' }).click();
  for (const [stop, deck] of [['deck 1 front', '0,20'], ['deck 1 rear', '0.22'], ['deck 2 front', '0.24'], ['deck 2 rear', '0.24']]) {
    await reads(stop, deck);
  }
  await sees(page, '#state', 'DONE');
});

test('the report has what was read, leads to a decision, and that has its numbers', async () => {
  await page.click('#to-report');
  await page.waitForURL('**/jobs/twin/report');
  // By hand: π/4·90.5²·83 mm³ sweep 533.91 cc. Of cylinder 1: 52.4 + a gasket of 7.312 cc + a deck of
  // 0.21 mm, 1.351 cc, + a dish of 4 cc = 65.06 cc, 9.21 to 1; of cylinder 2: 65.76 cc, 9.12 to 1.
  await sees(page, '#content', /52\.65/);
  await sees(page, '#cylinders', /9\.21/);
  await sees(page, '#cylinders', /9\.12/);
  await looksAt('report');
  await page.getByRole('link', { name: 'Decide' }).click();
  await looksAt('decisions');
  await page.getByRole('link', { name: 'How deep to mill?' }).click();
  await page.fill('#ratio', '10,5');
  await page.fill('#area', '58 cm2');
  await page.getByRole('button', { name: 'Answer' }).click();
  await page.waitForURL('**ratio=10*');
  const mill = bench.json('decide', 'mill', 'twin', '--ratio', '10.5', '--area', '58 cm2');
  const head = mill.answer.heads.find((one) => !one.why_not);
  const shown = [...(await page.locator('#answer').innerText()).matchAll(/^\s*depth (\d+\.\d+)/gm)];
  assert.ok(head, 'a head is cut');
  assert.ok(Math.abs(Number(shown[0][1]) - head.depth.value) < 0.006, `${shown[0]}: ${head.depth.value}`);
  await looksAt('mill');
});

test('a sheet leaves the bench', async () => {
  await at('/jobs/twin/sheets');
  await looksAt('sheets');
  await page.getByRole('button', { name: 'Open the build sheet' }).click();
  await page.locator('[data-figure]').first().waitFor();
  assert.match(await page.locator('body').innerText(), /Invented twin/);
});

test('no fault, nothing forbidden, nothing from elsewhere', () => {
  assert.deepEqual(page.faults, []);
});
