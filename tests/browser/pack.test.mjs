// A job is loaded from its page as one file and taken up again from there.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
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
  await page.getByText(`a copy of v8 as of fact ${taken.copy_of.seq}`).waitFor();
});
