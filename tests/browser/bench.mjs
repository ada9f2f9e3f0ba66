// Starts virtual gauges, a daemon on a new data folder, and a browser; ends them again.

import { execFileSync, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

const here = dirname(fileURLToPath(import.meta.url));
export const root = join(here, '..', '..');
const program = process.env.BENCHHAND;

const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

export class Bench {
  static async start({ browser = true } = {}) {
    const bench = new Bench();
    bench.folder = mkdtempSync(join(tmpdir(), 'board-'));
    bench.data = join(bench.folder, 'data');
    bench.gauges = spawn('python3', [join(here, 'gauges.py'), bench.folder], { stdio: ['pipe', 'pipe', 'inherit'] });
    bench.lines = createInterface({ input: bench.gauges.stdout })[Symbol.asyncIterator]();
    await bench.serve();
    if (browser) bench.browser = await chromium.launch({ executablePath: process.env.BROWSER, args: FLAGS });
    return bench;
  }

  /** Starts the daemon and waits until it answers. */
  async serve() {
    this.daemon = spawn(program, ['serve', '--json', '--data', this.data], { stdio: ['ignore', 'pipe', 'inherit'] });
    const first = await createInterface({ input: this.daemon.stdout })[Symbol.asyncIterator]().next();
    if (first.done) throw new Error('the daemon did not start');
    const ready = JSON.parse(first.value);
    this.address = ready.address;
    this.board = ready.board;
  }

  /** Ends the daemon by a signal and waits until it is gone. */
  async end(signal = 'SIGTERM') {
    const gone = new Promise((done) => this.daemon.once('exit', done));
    this.daemon.kill(signal);
    await gone;
  }

  run(...args) {
    return execFileSync(program, [...args, '--data', this.data], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });
  }

  json(...args) {
    return JSON.parse(this.run(...args, '--json'));
  }

  /** Plugs a virtual gauge in; its path, which stays when it is plugged in again. */
  async plug(name, unit, decimals, value, rate = 10) {
    this.gauge(`plug ${name} ${unit} ${decimals} ${value} ${rate}`);
    return (await this.lines.next()).value.split(' ')[1];
  }

  /** Plugs a virtual gauge in; the path of the device itself, as a person would type it. */
  async plugDevice(name, unit, decimals, value) {
    this.gauge(`plug ${name} ${unit} ${decimals} ${value}`);
    return (await this.lines.next()).value.split(' ')[2];
  }

  gauge(line) {
    this.gauges.stdin.write(`${line}\n`);
  }

  job(name) {
    this.run('job', 'new', name, join(root, 'examples', 'invented-v8.toml'));
  }

  /** Lets a page in, by an address that opens once. */
  async letIn(page) {
    await page.goto(this.json('board').address);
    await page.waitForURL('**/jobs');
  }

  /** A page whose faults are written down: errors, what its policy forbids, requests to elsewhere. */
  async watched(context) {
    if (process.env.BOARD_FILES) await fromSource(context);
    const page = await context.newPage();
    page.faults = [];
    page.on('pageerror', (error) => page.faults.push(String(error)));
    page.on('console', (told) => {
      if (/Content Security Policy|Content-Security-Policy/.test(told.text())) page.faults.push(told.text());
    });
    page.on('request', (request) => {
      const { protocol, host } = new URL(request.url());
      if (protocol !== 'data:' && protocol !== 'blob:' && host !== this.address) page.faults.push(`asked for ${request.url()}`);
    });
    return page;
  }

  /** The board, let in, with what it says and sounds written down. */
  async page(options = {}) {
    const context = await this.browser.newContext({ viewport: { width: 1180, height: 820 }, ...options });
    await context.addInitScript(() => {
      window.heard = { spoken: [], tones: 0 };
      const speech = { pending: false, cancel() {}, speak: (u) => window.heard.spoken.push(u.text) };
      Object.defineProperty(window, 'speechSynthesis', { value: speech });
      const make = AudioContext.prototype.createOscillator;
      AudioContext.prototype.createOscillator = function () {
        window.heard.tones += 1;
        return make.call(this);
      };
    });
    const page = await this.watched(context);
    await this.letIn(page);
    await page.goto(`http://${this.address}/measure`);
    await page.locator('#link[data-state=live]').waitFor();
    return page;
  }

  async stop() {
    await this.browser?.close();
    if (this.daemon && this.daemon.exitCode === null) await this.end();
    this.gauges.stdin.end();
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** Takes the scripts and styles from the source tree, so that a change to them needs no build. */
async function fromSource(context) {
  await context.route(/\/(board|page)\/[^/]+$/, async (route) => {
    const [, place, file] = new URL(route.request().url()).pathname.split('/');
    const folder = place === 'board' ? ['daemon', 'board'] : ['daemon', 'pages', 'files'];
    const path = join(root, ...folder, file);
    if (!existsSync(path)) return route.continue();
    const kind = { css: 'text/css', js: 'text/javascript', svg: 'image/svg+xml' }[file.split('.').pop()];
    return route.fulfill({ body: readFileSync(path, 'utf8'), contentType: kind });
  });
  await context.route(/\/measure(\?.*)?$/, async (route) => {
    const answer = await route.fetch();
    if (answer.status() !== 200) return route.fulfill({ response: answer });
    return route.fulfill({ response: answer, body: readFileSync(join(root, 'daemon', 'board', 'index.html'), 'utf8') });
  });
}

/**
 * Waits until `look` gives something true, and gives it. Nothing is shown before it is on the disk,
 * and a disk that has a build to write out may hold a sync for many seconds.
 */
export async function until(look, what, patience = 60000) {
  const end = Date.now() + patience;
  let last;
  while (Date.now() < end) {
    last = await look();
    if (last) return last;
    await new Promise((go) => setTimeout(go, 50));
  }
  throw new Error(`waited ${patience} ms in vain for ${what}`);
}
