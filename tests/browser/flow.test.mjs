// A port at the flow bench: which channel is which, and its flow at the reference depression.

import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench } from './bench.mjs';
import { passesAxe, sees, shots, startRoute, text } from './look.mjs';
import { SIZES } from './sizes.mjs';

const PAIR = `profile = 1
name = "pair"
title = "Two pressures in one line"

[line]
baud = 9600
format = "8N1"

[talk]
mode = "stream"
period_ms = 100

[frame]
kind = "line"
end = "\\r\\n"
longest = 40
separator = ","
columns = 2

[[channel]]
name = "test"
column = 1
unit = "inH2O"

[[channel]]
name = "metering"
column = 2
unit = "inH2O"
`;

let bench;

before(async () => {
  bench = await Bench.start();
  bench.job('ports');
  const path = await bench.plug('bench', '-', 2, 0);
  bench.gauge('along bench 0');
  const profile = join(bench.folder, 'pair.toml');
  writeFileSync(profile, PAIR);
  bench.run('gauge', 'set', 'bench', '--profile-file', profile, '--port', path);
});

after(() => bench?.stop());

test('a reading stands as cfm at the reference depression, with both pressures named', async () => {
  const page = await bench.page({ viewport: { width: 1280, height: 800 } });
  await startRoute(page, 'flow');
  await sees(page, '#stop', 'flow 1 intake 0.100 in');
  await sees(page, '#along', /test · metering 0\.00 inH2O/);
  bench.gauge('along bench 4');
  bench.gauge('ramp bench 27.5 1');
  await sees(page, '#got-unit', 'cfm', 40000);
  // The engine file says 240 cfm at 8 inH2O; the flow of an orifice goes as the root of its pressure
  // (docs/formulas.md, with its source), and to 28 from 27.5 inH2O by the root again: 240 √(4/8) √(28/27.5).
  const cfm = 240 * Math.sqrt(4 / 8) * Math.sqrt(28 / 27.5);
  const shown = parseFloat(await text(page, '#got-digits'));
  assert.ok(Math.abs(shown / cfm - 1) < 0.02, `${shown} cfm, expected about ${cfm}`);
  assert.equal(await text(page, '#of'), 'flow 1 intake 0.100 in');
  assert.match(await text(page, '#got-means'), /^at 28 inH2O\ntest 27\.50 inH2O\nmetering 4\.00 inH2O\nmean of \d+ s$/);
  for (const [name, width, height] of SIZES) {
    await page.setViewportSize({ width, height });
    await page.screenshot({ path: join(shots, `flow-got-${name}.png`) });
    assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= width, name);
  }
  await passesAxe(page, 'a port that was read');
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test('a flow that is read by eye is typed as its two pressures', async () => {
  const page = await bench.page({ viewport: { width: 1280, height: 800 } });
  await sees(page, '#stop', 'flow 1 intake 0.200 in', 40000);
  await page.keyboard.press('v');
  await page.fill('#type-fields [name=value]', '28');
  assert.equal(await page.isDisabled('#type-keep'), true, 'one pressure is no flow');
  await page.fill('#type-fields [name=along]', '6.2');
  await page.click('#type-keep');
  await sees(page, '#stop', 'flow 1 intake 0.300 in');
  assert.deepEqual(page.faults, []);
  await page.context().close();
});
