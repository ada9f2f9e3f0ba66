// The gauges' pages: what is plugged in, what is found, what is learned, what is lost.

import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, until } from './bench.mjs';
import { passesAxe, sees, shots, text } from './look.mjs';
import { SIZES } from './sizes.mjs';

let bench;
let page;

before(async () => {
  bench = await Bench.start();
  const context = await bench.browser.newContext({ viewport: { width: 1280, height: 800 } });
  page = await bench.watched(context);
  await bench.letIn(page);
});

after(() => bench?.stop());

const at = (path) => page.goto(`http://${bench.address}${path}`);

/** Pictures and axe at every size, by day and by night. */
async function looksAt(name) {
  for (const [size, width, height] of SIZES) {
    await page.setViewportSize({ width, height });
    await page.screenshot({ path: join(shots, `gauges-${name}-${size}.png`), fullPage: true });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= width, `${name} ${size} does not scroll sideways: ${wide}`);
  }
  for (const colorScheme of ['dark', 'light']) {
    await page.emulateMedia({ colorScheme });
    await passesAxe(page, `${name}, ${colorScheme}`);
  }
  await page.setViewportSize({ width: 1280, height: 800 });
}

test('a gauge that sends no unit is found by the keyboard alone, and its unit is asked, not guessed', async () => {
  const device = await bench.plugDevice('dial', '-', 3, 1.2);
  await at('/gauges');
  await sees(page, '#gauges', 'No gauge is set up yet');
  await looksAt('none');
  const focused = (id) => page.evaluate((wanted) => document.activeElement?.id === wanted, id);
  for (let n = 0; n < 30 && !(await focused('port')); n += 1) await page.keyboard.press('Tab');
  await page.keyboard.type(device);
  bench.gauge('ramp dial 2.4 9');
  await page.keyboard.press('Enter');
  await sees(page, 'h1', /Found: it shows \d/, 40000);
  await looksAt('found');
  assert.equal(await page.locator('#unit').inputValue(), '');
  await page.fill('#name', 'dial-<b>2');
  await page.selectOption('#unit', 'mm');
  await page.click('text=Set it up');
  await sees(page, '.refused', 'dial-<b>2');
  assert.equal(await page.locator('.refused b').count(), 0, 'markup in a name is text');
  assert.equal(await page.locator('#unit').inputValue(), 'mm', 'what was filled in stays');
  await page.fill('#name', 'dial-2');
  await page.fill('#calibrated', 'a ring <script>alert(1)</script>');
  await page.click('text=Set it up');
  await sees(page, 'h1', 'dial-2');
  await sees(page, '.known', 'a ring <script>alert(1)</script>');
  await sees(page, '.known', 'not known: its figures leave that out');
  await sees(page, '.values', / mm$/);
});

test('its value is seen moving, and its direction is learned by a movement', async () => {
  bench.gauge('set dial 5');
  await sees(page, '.values', '5.000 mm');
  bench.gauge('set dial 4');
  await sees(page, '.values', '4.000 mm');
  await page.click('text=Learn its direction by a movement');
  await page.click('text=It has moved');
  await sees(page, '.doubt', 'It has not moved');
  bench.gauge('set dial 3');
  await sees(page, '.values', '3.000 mm');
  await page.click('text=It has moved');
  await sees(page, '#content', 'from 4.000 mm to 3.000 mm');
  await looksAt('direction');
  await page.click('text=It was pushed in');
  await sees(page, '.known', 'its number shrinks');
  const set = bench.json('gauge', 'list').gauges[0].setup;
  assert.equal(set.sense, -1);
  assert.equal(set.calibrated, 'a ring <script>alert(1)</script>', 'the rest of the set-up stays');
  await looksAt('one');
});

test('a gauge that is added, lost or dropped shows on a page already open', async () => {
  await at('/gauges');
  const path = await bench.plug('burette', 'cc', 2, 12.5);
  bench.run('gauge', 'set', 'burette', '--profile', 'ascii-volume', '--port', path);
  await sees(page, '#gauges', 'burette');
  await sees(page, '[data-values=burette]', '12.50 cc');
  await looksAt('two');
  bench.gauge('unplug burette');
  await sees(page, '[data-line=burette]', /LOST: .*plug/);
  assert.ok(!(await text(page, '[data-line=burette]')).includes('/'), 'by its name, not by a path');
  bench.run('gauge', 'drop', 'burette');
  await until(async () => !(await text(page, '#gauges')).includes('burette'), 'it is gone');
});

test('without script a page shows the latest values when it is loaded again', async () => {
  const context = await bench.browser.newContext({ javaScriptEnabled: false, storageState: await page.context().storageState() });
  const plain = await context.newPage();
  await plain.goto(`http://${bench.address}/gauges`);
  const shows = () => plain.locator('[data-values="dial-2"]').textContent();
  assert.match(await shows(), /3\.000 mm/);
  bench.gauge('set dial 7');
  await until(async () => {
    await plain.reload();
    return (await shows()).includes('7.000 mm');
  }, 'the new value');
  await context.close();
});

test('nothing at a port: it says so, with the ways on', async () => {
  await at('/gauges');
  await page.fill('#port', '/dev/pts/99999');
  await page.keyboard.press('Enter');
  await sees(page, 'h1', 'Nothing was found at /dev/pts/99999');
  await page.getByRole('button', { name: 'Ask it' }).waitFor();
  await looksAt('nothing');
});

test('a gauge that is read by eye needs no port', async () => {
  await at('/gauges');
  await page.click('text=A gauge that is read by eye');
  await page.fill('#name', 'glass');
  await page.fill('#resolution', '0.1 cc');
  await page.click('text=Set it up');
  await sees(page, '.line', 'read by eye');
  assert.deepEqual(page.faults, []);
});

test('whether this machine is ready is said on a page of its own', async () => {
  await at('/gauges');
  await page.click('text=Is this machine ready?');
  await sees(page, 'h1', 'This machine');
  for (const part of ['ports', 'programs', 'latency', 'space', 'clock', 'daemon', 'folders']) {
    assert.ok((await page.locator(`th[scope=row]:text-is("${part}")`).count()) > 0, part);
  }
  await sees(page, 'tr:has(th:text-is("daemon")) >> nth=0', /OK.*the daemon runs and answers/s);
  await looksAt('machine');
});
