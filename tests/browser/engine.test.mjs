// A job is begun by the page alone: figures and drawing follow what is filled in, without script as
// well, and comments of the engine file stay.

import assert from 'node:assert/strict';
import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, until } from './bench.mjs';

const axe = createRequire(import.meta.url).resolve('axe-core/axe.min.js');

let bench;
before(async () => { bench = await Bench.start(); });
after(async () => { await bench?.stop(); });

async function let_in(options) {
  const context = await bench.browser.newContext(options);
  const page = await context.newPage();
  page.faults = [];
  page.on('pageerror', (error) => page.faults.push(String(error)));
  page.on('request', (request) => {
    if (!request.url().startsWith(`http://${bench.address}/`)) page.faults.push(request.url());
  });
  await bench.letIn(page);
  return page;
}

const figures = (page) => page.locator('#shown').innerText();
const written = (job) => readFileSync(join(bench.data, 'jobs', job, 'engine.toml'), 'utf8');

// By hand: π/4·4²·3.5 in³ sweep 43.982 in³ = 720.74 cc. With 64 cc, a gasket of π/4·4.1²·0.04 in³
// (8.654 cc), a deck of 0.005 in (1.030 cc) and a dish of 5 cc: 78.684 cc, 10.16 to 1.
const SIZES = {
  bore: '4', stroke: '3.5', 'gasket.bore': '4.1', 'gasket.thickness': '.04',
  'piston.crown': '-5', 'head.nominal_chamber': '64', 'targets.deck': '.005',
};

/** Opens every group of fields, as a person does who states all of them. */
async function openGroups(page) {
  await page.locator('#layout').waitFor();
  for (const group of await page.locator('details.group > summary').all()) {
    if (!(await group.evaluate((one) => one.parentElement.open))) await group.click();
  }
}

async function fill(page) {
  await openGroups(page);
  await page.getByLabel('Name of the job').fill('page-1');
  await page.getByLabel('Layout', { exact: true }).selectOption('v8');
  for (const [key, value] of Object.entries(SIZES)) await page.locator(`[id="${key}"]`).fill(value);
}

test('a job begins by the page alone, and shows its compression at once', async () => {
  const page = await let_in();
  await page.getByRole('link', { name: 'Begin a job' }).click();
  await fill(page);
  await until(async () => (await figures(page)).includes('10.16 :1'), 'the compression');
  assert.match(await figures(page), /351\.9 cu in/);
  assert.equal(await page.locator('#shown svg').count(), 1);
  await page.locator('[id="bore"]').fill('4.x');
  await until(async () => (await page.locator('[id="bore-fault"]').innerText()).includes('unknown unit "x"'), 'the fault at its field');
  await page.locator('[id="bore"]').fill('101.6 mm');
  await until(async () => (await figures(page)).includes('10.16 :1'), 'the compression in the other unit');
  await page.getByLabel('Customer').fill('<b>Shop</b> & Sons');
  await page.getByRole('button', { name: 'Begin the job' }).click();
  await page.waitForURL('**/jobs/page-1?told=*');
  assert.match(await page.locator('main').innerText(), /The job is begun[\s\S]*<b>Shop<\/b> & Sons/);
  assert.match(written('page-1'), /bore = "101\.6 mm"\s+# heads alone/);
  await page.goto(`http://${bench.address}/jobs`);
  assert.match(await page.locator('tbody').innerText(), /page-1[\s\S]*chambers 1 to 8/);
  assert.deepEqual(page.faults, []);
});

test('two digits of a chamber that were exchanged are asked about before the job begins', async () => {
  const page = await let_in();
  await page.goto(`http://${bench.address}/jobs/new`);
  await fill(page);
  await page.getByLabel('Name of the job').fill('slipped');
  await page.locator('[id="targets.compression"]').fill('10,2');
  await page.locator('[id="head.nominal_chamber"]').fill('46,0');
  await until(async () => (await page.locator('#doubts').count()) > 0, 'the doubt');
  // By hand, with SIZES above: 14.682 cc besides the chamber; 720.74/9.2 - 14.68 = 63.7 cc.
  assert.match(await page.locator('#doubts').innerText(), /a chamber of 63\.7 cc would give it; 46 cc is stated/);
  await page.getByRole('button', { name: 'Begin the job' }).click();
  await page.locator('.refused').first().waitFor();
  assert.match(await page.locator('.refused').first().innerText(), /target is 10\.20[\s\S]*nothing was kept/);
  assert.ok(!existsSync(join(bench.data, 'jobs', 'slipped')), 'nothing was begun');
  await page.getByLabel('The sizes are right').check();
  await page.getByRole('button', { name: 'Begin the job' }).click();
  await page.waitForURL('**/jobs/slipped?told=*');
  assert.match(written('slipped'), /nominal_chamber = "46\.0 cc"/);
  // What was said to be right is not asked about again.
  await page.goto(`http://${bench.address}/jobs/slipped/engine`);
  await openGroups(page);
  await page.getByLabel('Customer').fill('nobody');
  await page.getByRole('button', { name: 'Keep this engine' }).click();
  await page.waitForURL('**/jobs/slipped?told=*');
  assert.deepEqual(page.faults, []);
});

test('the volume above the top ring is asked for and counts', async () => {
  const page = await let_in();
  await page.goto(`http://${bench.address}/jobs/new`);
  await fill(page);
  await until(async () => (await figures(page)).includes('10.16 :1'), 'the compression');
  await page.locator('[id="piston.crevice"]').fill('0,8');
  // By hand: 78.684 + 0.8 = 79.484 cc, and 1 + 720.74/79.484 = 10.07.
  await until(async () => (await figures(page)).includes('10.07 :1'), 'the compression with it');
  await page.getByText('The engine file as text').click();
  assert.match(await page.locator('#text').inputValue(), /crevice = "0\.8 cc"/);
  assert.deepEqual(page.faults, []);
});

test('an engine is changed beside its text, whose comments stay', async () => {
  bench.job('kept');
  const page = await let_in();
  await page.goto(`http://${bench.address}/jobs/kept/engine`);
  // What is stated in a group is read on it before it is opened.
  assert.match(await page.locator('details.group > summary', { hasText: 'Gasket' }).innerText(), /thickness 0\.0\d+ in/);
  await openGroups(page);
  await page.getByText('The engine file as text').click();
  await page.locator('[id="gasket.thickness"]').fill('0.051');
  await until(async () => (await page.locator('#text').inputValue()).includes('thickness = "0.051 in"'), 'the text follows the field');
  await page.locator('#text').press('ControlOrMeta+End');
  await page.locator('#text').pressSequentially('# typed by hand\n');
  await page.getByRole('button', { name: 'Keep this engine' }).click();
  await page.waitForURL('**/jobs/kept?told=*');
  const text = written('kept');
  for (const line of ['# An invented engine, for trying benchhand out.', 'thickness = "0.051 in"', '# typed by hand', 'dof = 9']) {
    assert.ok(text.includes(line), `${line} is in\n${text}`);
  }
  assert.deepEqual(page.faults, []);
});

test('the page does its work without script, and by the keyboard', async () => {
  const page = await let_in();
  const state = await page.context().storageState();
  const plain = await bench.browser.newContext({ javaScriptEnabled: false, storageState: state });
  const bare = await plain.newPage();
  await bare.goto(`http://${bench.address}/jobs/new`);
  await fill(bare);
  await bare.locator('[id="head.nominal_chamber"]').press('Enter');
  assert.match(await figures(bare), /10\.16 :1/);
  await bare.getByLabel('Name of the job').fill('page-2');
  await bare.getByRole('button', { name: 'Begin the job' }).click();
  await bare.waitForURL('**/jobs/page-2?told=*');
  assert.match(written('page-2'), /cylinders = 8/);
  await plain.close();
});

test('the page of an engine is clean by axe', async () => {
  const page = await let_in();
  for (const at of ['/jobs/new', '/jobs/page-1/engine', '/jobs/page-1', '/jobs']) {
    await page.goto(`http://${bench.address}${at}`);
    await page.addScriptTag({ path: axe }).catch(() => page.evaluate(readFileSync(axe, 'utf8')));
    const found = await page.evaluate(() => window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa'] }));
    const words = found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).join(' ')}`);
    assert.deepEqual(words, [], at);
  }
});

test('what a job needs to begin fits one screen, and the rest opens by the keyboard', async () => {
  const page = await let_in({ viewport: { width: 1280, height: 800 } });
  await page.goto(`http://${bench.address}/jobs/new`);
  for (const field of ['#job', '#layout', '[id="cylinders"]', '[id="units"]']) {
    const box = await page.locator(field).boundingBox();
    assert.ok(box && box.y + box.height <= 800, `${field} is seen without scrolling`);
  }
  assert.match(await page.locator('fieldset').first().innerText(), /enough to begin with/);
  // Closed groups say what they ask for.
  const tolerances = page.locator('details.group > summary', { hasText: 'Tolerances' });
  assert.match(await tolerances.innerText(), /chambers, largest less smallest/);
  await tolerances.focus();
  await page.keyboard.press('Enter');
  await page.getByLabel('Least quench', { exact: true }).waitFor();
  // Every button says what it does.
  const shows = page.getByRole('button', { name: 'Show what this gives' });
  assert.equal(await shows.count(), 1, 'the one that Enter presses is told to nobody');
  assert.match(await page.locator('#shown').innerText(), /It keeps nothing/);
  assert.deepEqual(page.faults, []);
});

test('a free spot is asked for by its name, and its unit and limits stand in the engine file', async () => {
  const page = await let_in({ viewport: { width: 390, height: 844 } });
  await page.goto(`http://${bench.address}/jobs/new`);
  await fill(page);
  await page.getByLabel('Name of the job').fill('page-free');
  await page.getByLabel('Name of one more').fill('Ring gap');
  await page.getByRole('button', { name: 'Ask for its unit and limits' }).click();
  await page.getByLabel('ring_gap: unit').waitFor();
  await page.getByLabel('ring_gap: least of each').fill('0.016 in');
  await page.getByLabel('ring_gap: places at each cylinder').fill('top second');
  const wide = await page.evaluate(() => document.documentElement.scrollWidth);
  assert.ok(wide <= 390, `${wide} of 390`);
  await page.getByRole('button', { name: 'Begin the job' }).click();
  await page.waitForURL('**/jobs/page-free?told=*');
  assert.match(written('page-free'), /\[free\.ring_gap\]\s+unit = "in"\s+[\s\S]*least = "0\.016 in"/);
  assert.equal(bench.json('routes', 'page-free').routes.some((one) => one.name === 'ring_gap'), true);
});
