// A job is loaded from its page as one file and taken up again from there.

import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, root } from './bench.mjs';
import { sees } from './look.mjs';

let bench;
let page;

before(async () => {
  bench = await Bench.start();
  bench.job('v8');
  bench.run('import', 'v8', join(root, 'examples', 'invented-v8-readings.csv'), '--sure');
  page = await (await bench.browser.newContext()).newPage();
  await bench.letIn(page);
});

after(() => bench?.stop());

test('the file that a page gives is the one that the command writes, and a copy says whose it is', async () => {
  await page.goto(`http://${bench.address}/jobs/v8`);
  const [loaded] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('link', { name: 'Pack this job', exact: true }).click(),
  ]);
  assert.equal(loaded.suggestedFilename(), 'v8.tar');
  const file = join(bench.folder, 'loaded.tar');
  await loaded.saveAs(file);
  const packed = join(bench.folder, 'packed.tar');
  bench.run('job', 'pack', 'v8', '--out', packed);
  assert.ok(readFileSync(file).equals(readFileSync(packed)), 'both are the same bytes');
  const taken = bench.json('job', 'unpack', file, '--as', 'v8-b');
  const shown = bench.json('job', 'show', 'v8');
  assert.equal(taken.summary.readings, shown.summary.readings);
  await page.goto(`http://${bench.address}/jobs/v8-b`);
  await sees(page, 'h1', 'v8-b');
  await page.getByText(`a copy of v8 as of entry ${taken.copy_of.seq}`).waitFor();
});

test('a job is taken in from its file by the page, whole or not at all', async () => {
  const file = join(bench.folder, 'packed.tar');
  await page.goto(`http://${bench.address}/jobs`);
  await page.getByRole('link', { name: 'Take one in from a file' }).click();
  // The name is taken here already.
  await page.getByLabel('File').setInputFiles(file);
  await page.getByRole('button', { name: 'Take it in' }).click();
  await page.getByRole('alert').filter({ hasText: 'packed.tar' }).waitFor();
  await page.getByLabel('File').setInputFiles(file);
  await page.getByLabel('Name of a copy').fill('v8-c');
  await page.getByRole('button', { name: 'Take it in' }).click();
  await page.waitForURL('**/jobs/v8-c?told=*');
  await page.getByText('v8-c is taken in.').waitFor();
  const [copy, original] = ['v8-c', 'v8'].map((job) => bench.json('job', 'show', job).summary.readings);
  assert.equal(copy, original);
  // Half a file is refused.
  const half = join(bench.folder, 'half.tar');
  const whole = readFileSync(file);
  writeFileSync(half, whole.subarray(0, whole.length / 2));
  await page.goto(`http://${bench.address}/unpack`);
  await page.getByLabel('File').setInputFiles(half);
  await page.getByLabel('Name of a copy').fill('v8-d');
  await page.getByRole('button', { name: 'Take it in' }).click();
  await page.getByRole('alert').filter({ hasText: 'half.tar' }).waitFor();
  const names = bench.json('job', 'list').jobs.map((one) => one.name).sort();
  assert.deepEqual(names, ['v8', 'v8-b', 'v8-c']);
});
