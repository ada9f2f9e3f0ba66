// What a builder sees of the other stations of his shop: two daemons, one server.

import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { after, before, test } from 'node:test';
import { Bench } from './bench.mjs';
import { passesAxe, sees, startRoute } from './look.mjs';
import { Postgres } from './postgres.mjs';

let [server, deck, pour] = [];

before(async () => {
  [server, deck, pour] = await Promise.all([Postgres.start(), Bench.start(), Bench.start({ browser: false })]);
  server.sql('postgres', 'create role owner login createrole');
  server.sql('postgres', 'create database shop owner owner');
  deck.run('shop', 'prepare', server.url('owner', 'shop'));
  server.sql('postgres', 'create role deck login in role shop_station; create role pour login in role shop_station');
  for (const station of [deck, pour]) {
    const burette = await station.plug('burette', 'cc', 2, 0);
    station.run('gauge', 'set', 'burette', '--profile', 'ascii-volume', '--port', burette, '--capacity', '100 cc', '--counts', 'up');
  }
});

after(async () => {
  await Promise.all([deck?.stop(), pour?.stop()]);
  await server?.stop();
});

/** Begins the chambers at the other station, by its own command. */
function chambers() {
  const args = ['measure', 'v8', 'chambers', '--json', '--data', pour.data];
  return spawn(process.env.BENCHHAND, args, { stdio: 'ignore' });
}

test('the page of the shop follows another station without a reload, and the board tells of its route', async () => {
  const page = await deck.watched(await deck.browser.newContext());
  await deck.letIn(page);
  const shop = `http://${deck.address}/shop`;
  await page.goto(shop);
  await sees(page, 'main', 'This station belongs to no shop');

  deck.job('v8');
  deck.run('shop', 'join', server.url('deck', 'shop'), '--name', 'deck stand');
  await page.goto(shop);
  await sees(page, '#stations', 'deck stand');
  await sees(page, '#shop', 'No station runs a route');
  await passesAxe(page, 'the shop');

  // Another station joins while the page is open.
  pour.run('shop', 'join', server.url('pour', 'shop'), '--name', 'pour room');
  await sees(page, '#stations', 'pour room');
  const known = () => pour.json('job', 'list').jobs.some((job) => job.name === 'v8');
  while (!known()) await new Promise((go) => setTimeout(go, 100));
  const measuring = chambers();
  await sees(page, '#shop', 'B, pour room: chambers of v8');
  await sees(page, '#shop-jobs', 'chambers at B');
  // Whoever came to the table by the keyboard stays there, and sees what is new all the same.
  const table = page.locator('#stations').locator('..');
  await table.focus();
  pour.gauge('ramp burette 12.5 1');
  await sees(page, '#shop', '12.50 cc');
  assert.ok(await table.evaluate((one) => one === document.activeElement), 'the focus stays');
  await passesAxe(page, 'the shop with a route elsewhere');

  // A route begun here on the same job is told of the other one, aloud.
  const board = await deck.page();
  await startRoute(board, 'chambers');
  await sees(board, '#said', 'chambers is measured on this job at station B (pour room) too');
  await page.goto(`http://${deck.address}/jobs/v8`);
  await sees(page, 'main', 'chambers is measured on this job at station B (pour room) too');

  // The server goes: the page says so, what is measured here goes on, and what waits is counted.
  await page.goto(shop);
  measuring.kill();
  await server.stop();
  server = null;
  await sees(page, '#shop', 'NOT CONNECTED');
  deck.run('enter', 'v8', 'chamber/7', '64.1 cc', '--sure');
  await sees(page, '#shop', /waits? to be sent/);
  assert.deepEqual([...page.faults, ...board.faults], []);
});
