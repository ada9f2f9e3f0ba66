// Eight gauges at 50 values a second, each with a route of its own, while a page is open: no value of the
// four that count is lost, and what is kept is what was poured.

import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Bench, until } from './bench.mjs';
import { sees } from './look.mjs';

const BURETTES = ['b1', 'b2', 'b3', 'b4'];
const DIALS = ['d1', 'd2', 'd3', 'd4'];
const PER_SECOND = 50;

let bench;
let page;

before(async () => {
  bench = await Bench.start();
  for (const name of BURETTES) {
    const path = await bench.plug(name, 'cc', 2, 0, PER_SECOND);
    bench.run('gauge', 'set', name, '--profile', 'ascii-volume', '--port', path, '--capacity', '100 cc', '--counts', 'up');
  }
  for (const name of DIALS) {
    const path = await bench.plug(name, 'mm', 3, 0, PER_SECOND);
    bench.run('gauge', 'set', name, '--profile', 'ascii-length', '--port', path);
  }
  page = await bench.page({ viewport: { width: 1280, height: 800 } });
});

after(async () => {
  for (const run of routes) run.kill('SIGINT');
  await bench?.stop();
});

const routes = [];

/** Begins a route, and waits until it records its gauge. */
async function begins(job, route, gauge, kind) {
  bench.job(job);
  if (kind === 'length') bench.run('gauge', 'zero', gauge, '--job', job);
  const run = spawn(process.env.BENCHHAND, ['measure', job, route, '--gauge', `${kind}=${gauge}`, '--json', '--data', bench.data], {
    stdio: ['pipe', 'ignore', 'ignore'],
  });
  routes.push(run);
  await until(() => existsSync(folder(job)) && readdirSync(folder(job)).length > 0, `${job} records ${gauge}`);
}

const folder = (job) => join(bench.data, 'jobs', job, 'streams');

/** Every number that a gauge sent while its route ran, from the recorded stream. */
function recorded(job) {
  const files = readdirSync(folder(job)).filter((name) => name.endsWith('.ndjson'));
  assert.equal(files.length, 1, files.join());
  const lines = readFileSync(join(folder(job), files[0]), 'utf8').split('\n').slice(1);
  // The last line may be half written.
  const bytes = lines.slice(0, -1).map((line) => JSON.parse(line)).filter((one) => one[1] === 'rx').map((one) => one[2]);
  // The route may have begun amid a value, and what is written may end in one.
  return bytes.join('').split('\r\n').slice(1, -1).map(parseFloat);
}

test('eight routes begin', async () => {
  for (const [at, name] of BURETTES.entries()) await begins(`pours-${at}`, 'chambers', name, 'volume');
  for (const [at, name] of DIALS.entries()) await begins(`decks-${at}`, 'decks', name, 'length');
  // A pour counts from a rest that was heard.
  for (const at of [...BURETTES.keys()].reverse()) {
    await page.goto(`http://${bench.address}/measure?job=pours-${at}`);
    await page.locator('#link[data-state=live]').waitFor();
    await sees(page, '#job', `pours-${at}`);
    await sees(page, '#phase', 'ready');
  }
});

test('four chambers are poured while four dials count, and the page follows', async () => {
  for (const name of DIALS) bench.gauge(`count ${name}`);
  const amounts = [64.21, 63.87, 64.55, 64.02];
  for (const [at, name] of BURETTES.entries()) bench.gauge(`ramp ${name} ${amounts[at]} 8`);
  await sees(page, '#got-digits', '64.21');
  for (const [at, amount] of amounts.entries()) {
    const kept = await until(() => {
      const readings = bench.json('job', 'show', `pours-${at}`).readings;
      return readings.find((one) => one.spot === 'chamber/1' && ['held', 'final'].includes(one.state));
    }, `chamber 1 of pours-${at}`);
    assert.ok(Math.abs(kept.figure.value - amount) < 0.015, `${kept.figure.value} of ${amount}`);
  }
});

test('no value of a counting gauge is lost, and the page has no fault', async () => {
  for (const run of routes) run.kill('SIGINT');
  await bench.end();
  for (const at of DIALS.keys()) {
    const steps = recorded(`decks-${at}`).map((value) => Math.round(1000 * value));
    const counted = steps.filter((value) => value > 0);
    // The pours alone take eight seconds.
    assert.ok(counted.length > 8 * PER_SECOND, `${counted.length} values`);
    const lost = counted.slice(1).filter((value, at) => value !== counted[at] + 1);
    assert.deepEqual(lost, [], `decks-${at}: values without the one before`);
  }
  for (const at of BURETTES.keys()) {
    const broken = recorded(`pours-${at}`).filter((value) => Number.isNaN(value));
    assert.deepEqual(broken, []);
  }
  assert.deepEqual(page.faults, []);
});
