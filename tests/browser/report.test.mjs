// What a builder reads and does from the report on: its figures, what they rest on, a decision.

import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, root, until } from './bench.mjs';
import { passesAxe, sees, shots, text } from './look.mjs';

let bench;
let page;

before(async () => {
  bench = await Bench.start();
  bench.job('v8');
  bench.run('import', 'v8', join(root, 'examples', 'invented-v8-readings.csv'), '--sure');
  page = await (await bench.browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
  await bench.letIn(page);
  page.faults = [];
  page.on('pageerror', (error) => page.faults.push(String(error)));
  // A violation of the page's policy is told there and nowhere else.
  page.on('console', (said) => said.type() === 'error' && page.faults.push(said.text()));
  page.on('request', (asked) => {
    if (!asked.url().startsWith(`http://${bench.address}/`)) page.faults.push(`asked ${asked.url()}`);
  });
});

after(() => bench?.stop());

const open = (path) => page.goto(`http://${bench.address}${path}`);

test('the report says the same as its document, and fits three screens', async () => {
  await open('/jobs/v8/report');
  const report = bench.json('report', 'v8');
  for (const one of report.cylinders) {
    const row = page.locator('#cylinders tbody tr').nth(one.cylinder - 1);
    assert.equal(await row.locator('td').nth(0).innerText(), one.chamber.value.toFixed(2));
  }
  await sees(page, '#averages', 'NOT OK');
  await sees(page, '.next', 'NEXT Measure deck 3 again');
  assert.equal(await page.locator('.chart svg[role=img] > title').count(), 4);
  for (const [name, width, height] of [['desk', 1280, 800], ['wall', 1920, 1080], ['phone', 390, 844]]) {
    await page.setViewportSize({ width, height });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= width, `${name} does not scroll sideways: ${wide} in ${width}`);
    // What is read in a hurry is whole: no column is beyond the right edge of its table's frame.
    for (const table of ['averages', 'cylinders']) {
      const beyond = await page.locator(`#${table}`).evaluate((one) => one.scrollWidth - one.parentElement.clientWidth);
      assert.ok(beyond <= 0, `${table} is not cut on the ${name}: ${beyond} px beyond`);
    }
    await page.screenshot({ path: join(shots, `report-${name}.png`), fullPage: true });
  }
  await page.setViewportSize({ width: 1280, height: 800 });
  await passesAxe(page, 'the report');
});

test('a figure opens its readings, a reading is moved and voided from there', async () => {
  await open('/jobs/v8/report');
  await page.locator('#cylinders tbody tr').nth(5).locator('td a').first().click();
  await sees(page, 'h1', 'Readings of chamber 6');
  const before = await page.locator('#readings tbody tr').count();
  assert.ok(before >= 2, 'both pours are there');
  await passesAxe(page, 'the readings');
  await page.locator('#readings tbody tr').first().locator('a').click();
  await sees(page, 'h1', 'chamber 6: ');
  await passesAxe(page, 'a reading');
  await page.fill('#void-reason', 'the <b>pan</b> leaked');
  await page.getByRole('button', { name: 'Void it' }).click();
  await sees(page, '.told', 'void');
  await sees(page, 'dl', 'the <b>pan</b> leaked');
  const journal = bench.json('job', 'show', 'v8');
  assert.equal(journal.readings.filter((one) => one.state === 'voided').length, 1);
});

test('from what is next to a decision and its numbers', async () => {
  await open('/jobs/v8/decide');
  await passesAxe(page, 'the questions');
  await page.getByRole('link', { name: 'How deep to mill?' }).click();
  await sees(page, '#answer', 'the area');
  await page.fill('#ratio', '10.8');
  await page.fill('#area', '5720 mm2 +- 20 mm2');
  await page.getByRole('button', { name: 'Answer' }).click();
  await page.waitForURL('**ratio=10.8**');
  const mill = bench.json('decide', 'mill', 'v8', '--ratio', '10.8', '--area', '5720 mm2 +- 20 mm2');
  // Each head's depth, in the order of the heads, with the digits that its ± leaves.
  const shown = [...(await page.locator('#answer').innerText()).matchAll(/^\s*depth (\d+\.\d+)/gm)];
  const heads = mill.answer.heads.filter((head) => !head.why_not);
  assert.ok(heads.length > 0, 'a head is cut');
  assert.equal(shown.length, heads.length);
  heads.forEach(({ depth }, i) => {
    assert.ok(Math.abs(Number(shown[i][1]) - depth.value) < 0.0006, `${depth.value} is in the document: ${shown[i]}`);
  });
  await sees(page, '#answer', 'Cautions');
  await passesAxe(page, 'a decision');
  await page.screenshot({ path: join(shots, 'decide-desk.png'), fullPage: true });
});

test('a thickness that is dragged moves the ratio', async () => {
  await open('/jobs/v8/decide/what-if');
  const mean = page.locator('#answer tbody tr', { has: page.getByText('mean', { exact: true }) }).first();
  const ratio = async () => ((await mean.count()) ? mean.innerText() : '');
  const before = await ratio();
  // The slider stands at the engine's own thickness, which changes nothing yet.
  assert.equal(before, '');
  await sees(page, '#answer', 'Unchanged: compression');
  await page.locator('#thickness').focus();
  for (let step = 0; step < 5; step += 1) await page.keyboard.press('ArrowRight');
  await until(async () => (await ratio()) !== before, 'the answer to follow');
  await until(async () => (await page.inputValue('#thickness')) === new URL(page.url()).searchParams.get('thickness'), 'the last answer');
  const thickness = await page.inputValue('#thickness');
  const document = bench.json('decide', 'what-if', 'v8', '--set', `gasket thickness = ${thickness} in`);
  const after = document.answer.compression_mean.after.value;
  // The mean before, after, and the difference, each with its ±.
  const shown = Number((await ratio()).match(/[\d.]+(?= ±)/g)[1]);
  assert.ok(Math.abs(shown - after) < 0.006, `${shown} shown, ${after} in the document`);
  // The form works without script as well: its address carries all of it.
  await open(`/jobs/v8/decide/what-if?thickness=${thickness}`);
  assert.ok((await ratio()).includes(String(shown)));
});

test('true top dead centre, a study and the record are answered on the page', async () => {
  await open('/jobs/v8/decide/tdc');
  await page.fill('#pairs', '326.4, 33.8 at 0.200 in\n340.1, 20.0 at 0.080 in');
  await page.getByRole('button', { name: 'Answer' }).click();
  await sees(page, '#answer', 'True top dead centre');
  await passesAxe(page, 'true top dead centre');
  const rows = ['part,operator,trial,value,unit'];
  for (const part of [1, 2, 3]) {
    for (const who of ['AB', 'CD']) {
      for (const trial of [1, 2]) rows.push(`${part},${who},${trial},${(0.05 + 0.01 * part + 0.0002 * trial).toFixed(4)},in`);
    }
  }
  await open('/study');
  await page.fill('#csv', rows.join('\n'));
  await page.getByRole('button', { name: 'Answer' }).click();
  await sees(page, '#answer', 'repeatability');
  await passesAxe(page, 'a study');
  await open('/study?csv=part%2Cvalue%0A1%2C2');
  await sees(page, '#answer', '✕');
  await open('/jobs/v8/record');
  await sees(page, '#content', 'is whole');
  await page.getByRole('button', { name: /Compute the readings again/ }).click();
  await sees(page, '#content', 'captured readings computed again');
  await passesAxe(page, 'the record');
  await open('/jobs/v8/sheets');
  const [saved] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name: 'Save the workbook' }).click()]);
  assert.equal(saved.suggestedFilename(), 'v8.xlsx');
});

test('a cut that was typed wrong is corrected by its form, and one that never was is taken back', async () => {
  bench.job('cuts');
  bench.run('job', 'cut', 'cuts', '--stage', 'milled 1', '--what', '0.100 in off both heads', '--changes', 'chamber', '--depth', '0.010 in');
  await open('/jobs/cuts');
  await page.getByRole('link', { name: 'Correct a cut' }).click();
  await page.fill('#stage', 'milled 1');
  await page.fill('#what', '0.012 in off both heads');
  await page.fill('#depth', '0,012 in');
  await page.fill('#reason', 'a slip of the pen');
  await passesAxe(page, 'a cut to correct');
  await page.getByRole('button', { name: 'Correct a cut' }).click();
  await sees(page, '.told', 'The record says what was cut.');
  await sees(page, 'ol', '0.012 in off both heads');
  const stages = () => bench.json('job', 'show', 'cuts').stages;
  assert.equal(stages().at(-1).depth, '0.012 in');
  await page.getByRole('link', { name: 'Correct a cut' }).click();
  await page.fill('#stage', 'milled 1');
  await page.check('#take_back');
  await page.fill('#reason', 'the other job was meant');
  await page.getByRole('button', { name: 'Correct a cut' }).click();
  await sees(page, '#taken-back', 'the other job was meant');
  assert.equal(stages().length, 1);
});

test('every question has its page, and the history is told', async () => {
  await open('/jobs/v8/decide');
  const ways = await page.locator('.questions a').evaluateAll((all) => all.map((one) => one.getAttribute('href')));
  assert.equal(ways.length, 14);
  for (const way of ways) {
    const answer = await open(way);
    assert.equal(answer.status(), 200, way);
    assert.ok((await page.locator('#answer').innerText()).length > 10, way);
  }
  await open('/jobs/v8/history');
  await sees(page, '#stages', 'as received');
  await passesAxe(page, 'the history');
  await page.screenshot({ path: join(shots, 'history-desk.png'), fullPage: true });
});

test('nothing broke, nothing was asked of elsewhere', () => {
  assert.deepEqual(page.faults, []);
});
