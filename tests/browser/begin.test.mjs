// A route is begun on a page of its own: with which gauge, under which conditions, at which cylinders.

import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench } from './bench.mjs';
import { passesAxe, sees, shots } from './look.mjs';
import { SIZES } from './sizes.mjs';

let bench;
let page;

before(async () => {
  bench = await Bench.start();
  bench.job('v8');
  const burette = await bench.plug('burette', 'cc', 2, 0);
  bench.run('gauge', 'set', 'burette', '--profile', 'ascii-volume', '--port', burette, '--capacity', '100 cc', '--counts', 'up');
  page = await bench.watched(await bench.browser.newContext({ viewport: { width: 1280, height: 800 } }));
  await bench.letIn(page);
});
after(() => bench?.stop());

const open = (path) => page.goto(`http://${bench.address}${path}`);

test('chambers begin with liquid, fill hole and cylinders said, and the record has them', async () => {
  await open('/jobs/v8');
  await page.getByRole('link', { name: 'Begin chambers', exact: true }).click();
  await sees(page, 'h1', 'Begin chambers');
  await sees(page, '#content', 'For volume: burette');
  await sees(page, '#content', 'prefer water with a wetting agent');
  for (const [name, width, height] of SIZES) {
    await page.setViewportSize({ width, height });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= width, `${name}: ${wide} in ${width}`);
    await page.screenshot({ path: join(shots, `begin-${name}.png`), fullPage: true });
  }
  await page.setViewportSize({ width: 1280, height: 800 });
  await passesAxe(page, 'a route to begin');
  await page.getByLabel('Liquid in the burette').selectOption('water');
  await page.getByLabel('Temperature of the liquid').fill('warm');
  await page.getByLabel("Liquid in the plate's fill hole").fill('0,3 cc');
  await page.getByLabel('Only these cylinders').fill('1 3');
  await page.getByRole('button', { name: 'Begin it' }).click();
  await sees(page, '.refused', 'warm');
  assert.equal(await page.getByLabel('Only these cylinders').inputValue(), '1 3', 'what was typed stays');
  await page.getByLabel('Temperature of the liquid').fill('21,5 degC');
  await page.getByRole('button', { name: 'Begin it' }).click();
  await page.waitForURL('**/measure?job=v8');
  await sees(page, '#stop', 'chamber 1');
  const route = bench.json('job', 'show', 'v8').route;
  assert.deepEqual([...new Set(route.stops.map((s) => s.spot))], ['chamber/1', 'chamber/3']);
  const known = Object.fromEntries(route.asks.map((one) => [one.name, one.known]));
  assert.equal(known.liquid, 'water');
  assert.equal(known['liquid/temperature'], '21.5 degC');
  assert.equal(known['fill-hole/volume'], '0.3 cc');
  assert.equal(known['valves-and-plugs'], undefined, 'what nobody said is not said');
});

test('a route that runs or stands half-way says so, and what is known stands in its fields', async () => {
  bench.run('steer', 'v8', 'end');
  await open('/jobs/v8/begin/chambers');
  await sees(page, '.doubt', 'stands half-way');
  assert.equal(await page.getByLabel('Liquid in the burette').inputValue(), 'water');
  assert.equal(await page.getByLabel("Liquid in the plate's fill hole").inputValue(), '0.3 cc');
  await page.getByRole('button', { name: 'Go on with it' }).click();
  await page.waitForURL('**/measure?job=v8');
  await sees(page, '#stop', 'chamber 1');
  bench.run('steer', 'v8', 'end');
});

test('readings of which a condition says nothing are named where it is said, and can be taken in', async () => {
  bench.job('before');
  bench.run('enter', 'before', 'chamber/1', '64.2 cc', '--sure');
  bench.run('enter', 'before', 'chamber/3', '64.4 cc', '--sure');
  await open('/jobs/before/begin/chambers');
  const left = page.locator('.left-out').first();
  assert.match(await left.innerText(), /the 2 readings kept before, from reading 1 on, of which nothing is said/);
  await passesAxe(page, 'a condition that leaves readings out');
  await page.getByLabel('Temperature of the liquid').fill('21 degC');
  await page.getByLabel('Liquid in the burette').selectOption('water');
  // Of the temperature it held already; of the liquid nothing is said.
  await page.locator('[name="since liquid/temperature"]').check();
  await page.getByLabel('Only these cylinders').fill('5');
  await page.getByRole('button', { name: 'Begin it' }).click();
  await page.waitForURL('**/measure?job=before');
  bench.run('steer', 'before', 'end');
  await open('/jobs/before/begin/chambers');
  const still = await page.locator('.left-out input').evaluateAll((all) => all.map((one) => one.name));
  assert.ok(!still.includes('since liquid/temperature'), `it is said of them: ${still}`);
  assert.ok(still.includes('since liquid'), `nothing is said of the liquid: ${still}`);
});

test('a gauge that is missing is said, with the way to set one up, and two are a choice', async () => {
  await open('/jobs/v8/begin/flow');
  await sees(page, '.doubt', 'No gauge for pressure is set up');
  assert.equal(await page.getByLabel('Lifts').inputValue(), '0.100in 0.200in 0.300in 0.400in');
  bench.run('gauge', 'set', 'glass', '--profile', 'ascii-volume', '--resolution', '0.1 cc');
  await open('/jobs/v8/begin/chambers');
  await page.getByLabel('For volume').selectOption('glass');
  await page.getByLabel('Start over').check();
  await page.getByRole('button', { name: 'Go on with it' }).click();
  await page.waitForURL('**/measure?job=v8');
  await sees(page, '#gauge', 'glass');
  bench.run('steer', 'v8', 'end');
  assert.deepEqual(page.faults, []);
});
