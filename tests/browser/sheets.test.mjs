// What leaves the bench on paper: every sheet printed on A4 and Letter, and opened from the page.

import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, root } from './bench.mjs';
import { passesAxe, sees, shots } from './look.mjs';

// Width of the paper and its margins as the sheets' style has them, mm.
const PAPERS = { A4: 210, Letter: 215.9 };
const MARGINS = 26;

let bench;
let page;

/** An invented engine of so many cylinders, all of it measured once. */
function engine(cylinders, name = `Invented engine of ${cylinders}`) {
  const all = Array.from({ length: cylinders }, (_, at) => at + 1);
  const file = join(bench.folder, `of-${cylinders}.toml`);
  writeFileSync(file, `name = "${name}"\ninvented = true\nunits = "metric"\n`
    + `cylinders = ${cylinders}\nbanks = [[${all.join(', ')}]]\nbore = "86.3 mm"\nstroke = "71.9 mm"\n`
    + '[gasket]\nbore = "88.1 mm"\nthickness = "1.2 mm"\n[head]\nopening_area = "5600 mm2 +- 20 mm2"\n'
    + '[targets]\ncompression = 11.9\n[tolerances]\ncompression_spread = 0.2\nleast_quench = "1.0 mm"\n'
    + '[card]\ncustomer = "A customer who is invented too"\norder = "2026-041"\nblock = "B 17 / 4"\nmeasured_by = "XY"\nheads = { 1 = "H 31, second pair" }\n');
  const rows = all.flatMap((one) => [
    `chamber/${one},${(41.2 + 0.03 * (one % 4)).toFixed(2)},cc`,
    `deck/${one},${(0.35 + 0.003 * (one % 4)).toFixed(3)},mm`,
    `crown/${one},${(-3.1 - 0.03 * (one % 3)).toFixed(2)},cc`,
  ]);
  const csv = join(bench.folder, `of-${cylinders}.csv`);
  writeFileSync(csv, `spot,value,unit\n${rows.join('\n')}\n`);
  bench.run('job', 'new', `of-${cylinders}`, file);
  bench.run('import', `of-${cylinders}`, csv, '--sure');
}

before(async () => {
  bench = await Bench.start();
  bench.job('v8');
  bench.run('import', 'v8', join(root, 'examples', 'invented-v8-readings.csv'), '--sure');
  engine(1);
  engine(8, 'Invented engine with a long name, for the circle track');
  engine(16);
  writeFileSync(join(bench.data, 'mark.svg'), '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 30">'
    + '<circle cx="15" cy="15" r="13" fill="none" stroke="#000" stroke-width="3"/><path d="M15 2v26M32 8h26M32 22h18" stroke="#000" stroke-width="3"/></svg>');
  writeFileSync(join(bench.data, 'shop.toml'), 'name = "An invented shop"\naddress = ["1 Nowhere Lane", "Somewhere in the hills", "Telephone: none"]\nmark = "mark.svg"\n');
  page = await (await bench.browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
  page.asked = [];
  page.on('request', (asked) => page.asked.push(asked.url()));
});

after(() => bench?.stop());

/** How many pages a PDF has. */
const pages = (pdf) => (pdf.toString('latin1').match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;

/** Writes a sheet and opens the file. */
async function opened(sheet, job, ...more) {
  const file = join(bench.folder, `${sheet}-${job}-${Math.random()}.html`);
  bench.run('sheet', sheet, job, '--out', file, ...more);
  page.asked = [];
  await page.goto(`file://${file}`);
  assert.deepEqual(page.asked.filter((url) => !url.startsWith('data:')), [`file://${file}`], 'it loads nothing');
  return file;
}

/** What stands out of the line of the paper, or out of its own cell. */
async function overflows(width) {
  await page.emulateMedia({ media: 'print' });
  await page.setViewportSize({ width: Math.floor(((width - MARGINS) / 25.4) * 96), height: 1000 });
  return page.evaluate(() => {
    const right = document.documentElement.clientWidth + 1;
    const all = [...document.body.querySelectorAll('*:not(svg *):not(.unseen)')];
    const out = all.filter((one) => one.getBoundingClientRect().right > right || one.getBoundingClientRect().left < -1);
    const cut = all.filter((one) => one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0 && getComputedStyle(one).display !== 'inline');
    return [...out, ...cut].map((one) => `${one.tagName}.${one.className}: ${one.textContent.trim().slice(0, 60)}`);
  });
}

/** Prints a sheet on both papers, keeps what is to be looked at, and gives the number of pages. */
async function printed(name) {
  const counts = {};
  for (const [format, width] of Object.entries(PAPERS)) {
    assert.deepEqual(await overflows(width), [], `${name} on ${format}`);
    const path = join(shots, `sheet-${name}-${format}.pdf`);
    counts[format] = pages(await page.pdf({ path, format, preferCSSPageSize: false }));
  }
  return counts;
}

for (const [job, cylinders] of [['of-1', 1], ['v8', 8], ['of-8', 8], ['of-16', 16]]) {
  test(`the customer's page of ${job} is one page`, async () => {
    await opened('build', job);
    const all = await printed(`build-${job}`);
    const report = bench.json('report', job);
    assert.equal(await page.locator('#cylinders tbody tr').count(), cylinders);
    for (const one of report.cylinders) {
      const told = await page.locator(`#cylinders [data-figure="compression ${one.cylinder}"]`).innerText();
      // No digit that its ± swallows: 10.5 where it is 10.5 ± 1.1.
      const decimals = one.compression_expanded?.value > 0.95 ? 1 : 2;
      assert.equal(told, one.compression.value.toFixed(decimals));
    }
    await page.evaluate(() => document.querySelectorAll('.page')[1].remove());
    assert.deepEqual(await printed(`build-${job}-customer`), { A4: 1, Letter: 1 });
    assert.ok(all.A4 <= 3 && all.Letter <= 3, JSON.stringify(all));
  });

  test(`every other sheet of ${job} fits its paper`, async () => {
    const asked = ['--ratio', '10.9', '--ratio-tolerance', '0.15'];
    const sent = await opened('order', job, ...asked);
    const order = await printed(`order-${job}`);
    assert.ok(order.A4 <= 2 && order.Letter <= 2, JSON.stringify(order));
    // The same once it went out: what the record has as ordered stands on it.
    const maker = ['--from', 'an invented maker of pistons with a long name', '--by', 'XY'];
    bench.run('job', 'order', job, '--from-sheet', sent, ...maker);
    bench.run('job', 'order', job, '--cylinder', '1', '--height', '30.5 mm +- 0.02 mm', '--note', 'one more, for the shelf', ...maker);
    await opened('order', job, ...asked);
    assert.equal(await page.locator('.entered').count(), 2);
    const entered = await printed(`order-entered-${job}`);
    assert.ok(entered.A4 <= 2 && entered.Letter <= 2, JSON.stringify(entered));
    await opened('labels', job);
    await printed(`labels-${job}`);
    await opened('flow', job);
    await printed(`flow-${job}`);
    if (cylinders > 1) {
      await opened('work', job, '--ratio', '12', '--area', '5600 mm2 +- 20 mm2', '--most', '1.2 mm');
      const work = await printed(`work-${job}`);
      assert.ok(work.A4 <= 2 && work.Letter <= 2, JSON.stringify(work));
    }
  });
}

test('a sheet is opened from the report, from a decision and from its own page', async () => {
  await page.emulateMedia({ media: 'screen' });
  await page.setViewportSize({ width: 1280, height: 800 });
  await bench.letIn(page);
  const to = (path) => page.goto(`http://${bench.address}${path}`);
  await to('/jobs/v8/report');
  await page.click('text=Build sheet, to print');
  await sees(page, 'h1 >> nth=0', 'Build sheet');
  await sees(page, '.shop', 'An invented shop');
  assert.ok(await page.locator('.shop img').evaluate((image) => image.naturalWidth > 0), 'the mark is seen');
  await passesAxe(page, 'the build sheet');
  await to('/jobs/v8/decide/dome?ratio=10.2&ratio_tolerance=0.1');
  await page.click('text=Open it as a piston order');
  await sees(page, '[data-figure="target"]', '10.2');
  await to('/jobs/v8/sheets');
  await passesAxe(page, 'the sheets');
  await page.screenshot({ path: join(shots, 'sheets-desk.png'), fullPage: true });
  await page.fill('#work-area', '9.2 in2');
  await page.fill('#work-ratio', '10.7');
  await page.click('text=Open the work order');
  await sees(page, '.head-work >> nth=0', 'cut ');
});

test('a sheet is read on a phone held upright without pushing the page aside', async () => {
  await page.emulateMedia({ media: 'screen' });
  for (const [sheet, ...more] of [
    ['work', '--ratio', '12', '--area', '5600 mm2 +- 20 mm2', '--most', '1.2 mm'],
    ['order', '--ratio', '10.9', '--ratio-tolerance', '0.15'],
    ['build'],
    ['labels'],
  ]) {
    await opened(sheet, 'v8', ...more);
    await page.setViewportSize({ width: 390, height: 844 });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= 390, `${sheet}: ${wide} of 390`);
    await page.screenshot({ path: join(shots, `sheet-${sheet}-phone.png`), fullPage: true });
  }
});

test('a sheet tells whether it is still the record', async () => {
  const file = await opened('build', 'v8');
  assert.match(bench.run('sheet', 'check', file), /All \d+ figures of the sheet are those of the record/);
  const html = readFileSync(file, 'utf8');
  const edited = html.replace(/(data-figure="compression 3">)[^<]*/, '$111.99');
  writeFileSync(file, edited);
  assert.throws(() => bench.run('sheet', 'check', file), (error) => error.status === 1 && /11\.99/.test(error.stdout));
});
