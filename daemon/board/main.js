// Puts the page together: lets it in, follows the bench, hands touches and keys on.

import { ask, change, enter, follow } from './api.js';
import { bench, renew, renewJob, route, take } from './state.js';
import { $, connection, live, refused, said, standing as rest } from './show.js';
import * as asked from './asked.js';
import * as entry from './entry.js';
import * as panels from './panels.js';
import * as sound from './sound.js';

let unfollow = null;

/** Where the route stands, and what is asked there. */
function standing() {
  rest();
  asked.show();
}

/** Lets the page in by the code in its address, if there is one; a code is used once. */
async function letIn() {
  const code = location.hash.slice(1);
  if (!code) return;
  history.replaceState(null, '', location.pathname);
  try {
    await enter(code);
  } catch {
    // It may be let in already, by an earlier code: asking for the state tells.
  }
}

/** Asks for everything, then follows from there. */
async function begin() {
  unfollow?.();
  try {
    renew(await ask('state'));
    await chooseJob();
  } catch (error) {
    if (error.status === 401) return shut();
    bench.link = 'lost';
    connection();
    setTimeout(begin, 2000);
    return;
  }
  unfollow = follow(bench.id, told);
  standing();
}

function shut() {
  bench.link = 'shut';
  connection();
  standing();
  panels.openEnter(null, async (code) => {
    await enter(code);
    $('enter-panel').close();
    await begin();
  });
}

/** The job whose route runs, else the one shown before, else the one changed last. */
async function chooseJob(wanted) {
  const jobs = (await ask('jobs')).jobs;
  const names = jobs.map((j) => j.name);
  const running = [...bench.routes.keys()][0];
  const before = sessionStorage.getItem('job');
  const job = [wanted, running, before, names[0]].find((j) => j && (names.includes(j) || j === running));
  bench.job = job ?? null;
  if (!job) return;
  sessionStorage.setItem('job', job);
  const [detail, shape] = await Promise.all([ask('jobs/show', { job }), ask('jobs/engine', { job })]);
  renewJob(detail);
  bench.engine = shape;
  await judge();
}

/** What disagrees, as the report finds it. */
async function judge() {
  try {
    const report = await ask('jobs/report', { job: bench.job });
    bench.findings = report.document.findings ?? [];
  } catch {
    bench.findings = [];
  }
}

let judging = null;
function judgeSoon() {
  clearTimeout(judging);
  judging = setTimeout(async () => {
    await judge();
    standing();
  }, 400);
}

function told(one) {
  if (one.shut) return shut();
  if (one.lost) {
    if (bench.link === 'live') sound.say('gauge', 'the board lost its connection');
    if (bench.link !== 'stopped') bench.link = 'lost';
    connection();
    live();
    return;
  }
  bench.heardAt = Date.now();
  if (bench.link !== 'live' && (one.open || one.event)) {
    bench.link = 'live';
    connection();
    live();
  }
  if (!one.event) return;
  if (one.event.event === 'stopping') {
    bench.link = 'stopped';
    connection();
    live();
    return;
  }
  hear(one.event);
}

function hear(event) {
  switch (take(event)) {
    case 'value':
      live();
      break;
    case 'say':
      if (event.job && event.job !== bench.job) break;
      // A question stands above, for as long as it waits.
      if (event.said_as !== 'asked') said(event.text);
      sound.say(event.said_as, event.text);
      break;
    case 'route': {
      const job = event.progress.job;
      if (event.progress.running && job !== bench.job && !bench.routes.has(bench.job)) {
        turnToJob(job);
        break;
      }
      if (!event.progress.running || event.progress.done) judgeSoon();
      standing();
      break;
    }
    case 'reading':
      judgeSoon();
      break;
    case 'link':
      standing();
      break;
    case 'missed':
      begin();
      break;
  }
}

async function turnToJob(job) {
  await report(async () => {
    await chooseJob(job);
    standing();
  });
}

/** Does something and shows why it was refused. */
async function report(work) {
  try {
    refused('');
    return await work();
  } catch (error) {
    if (error.status === 401) return shut();
    refused(error.message);
    sound.say('refused', '');
    return null;
  }
}

function control(what) {
  return report(() => change('routes/control', { job: bench.job, ...what }));
}

function act(what) {
  switch (what) {
    case 'type':
      entry.open();
      break;
    case 'go':
      panels.openGo(control);
      break;
    case 'move':
      panels.openMove(report);
      break;
    case 'route':
      report(() => panels.openRoute(turnToJob));
      break;
    case 'keys':
      $('keys-panel').showModal();
      break;
    case 'sound':
      switchSound();
      break;
    case 'light':
      switchLight();
      break;
    case 'hold':
      control({ control: $('hold').dataset.do });
      break;
    default:
      control({ control: what });
  }
}

function showSound() {
  const state = sound.state();
  const text = { waiting: 'Sound: touch to start', on: 'Sound on', muted: 'Sound muted' }[state];
  $('sound').textContent = text;
  $('sound').setAttribute('aria-pressed', String(state === 'muted'));
}

/** Set while the very touch or key that let the page sound is being dealt with. */
let woke = false;

function switchSound() {
  // The first touch starts the sound; it must not mute it at once.
  if (!woke) sound.toggle();
  showSound();
}

function showLight() {
  const chosen = localStorage.getItem('light');
  if (chosen) document.documentElement.dataset.light = chosen;
  const dark = chosen ? chosen === 'dark' : !matchMedia('(prefers-color-scheme: light)').matches;
  $('light').textContent = dark ? 'Light' : 'Dark';
  return dark;
}

function switchLight() {
  localStorage.setItem('light', showLight() ? 'light' : 'dark');
  showLight();
}

function keys(event) {
  const typing = event.target.closest?.('input, select, textarea, dialog');
  if (typing?.checkVisibility() || event.ctrlKey || event.altKey || event.metaKey) return;
  // A key that is kept down must not answer the next question too.
  if (document.querySelector('dialog[open]') || !$('keys-on').checked || event.repeat) return;
  const known = panels.KEYS.find(([key]) => key === event.key.toLowerCase());
  if (!known) return;
  const button =
    $('answers').querySelector(`[aria-keyshortcuts="${known[0]}"]`) ??
    document.querySelector(`.controls [aria-keyshortcuts="${known[0]}"]`);
  if (button?.disabled) return;
  event.preventDefault();
  const no = asked.noAnswer(known[2]);
  if (no) return refused(no);
  act(known[2]);
}

function prepare() {
  entry.prepare();
  panels.prepare();
  showLight();
  showSound();
  const wake = () => {
    woke = sound.touch();
    showSound();
  };
  document.addEventListener('pointerdown', wake, true);
  document.addEventListener('keydown', wake, true);
  document.addEventListener('keydown', keys);
  asked.prepare();
  for (const row of [document.querySelector('.controls'), $('answers')]) {
    row.addEventListener('click', (event) => {
      const button = event.target.closest('button');
      if (button) act(button.dataset.do);
    });
  }
  $('sound').addEventListener('click', switchSound);
  $('light').addEventListener('click', switchLight);
  $('take-up').addEventListener('click', () => {
    const { job, route: name } = route();
    report(() => change('routes/start', { job, route: name }));
  });
  $('route-start').addEventListener('click', () =>
    report(async () => {
      $('route-panel').close();
      const chosen = panels.chosenRoute();
      for (const said of panels.typedConditions()) await change('conditions/set', { job: chosen.job, ...said });
      await change('routes/start', chosen);
    }),
  );
  $('route-end').addEventListener('click', () => {
    $('route-panel').close();
    control({ control: 'end' });
  });
  setInterval(connection, 1000);
}

prepare();
letIn().then(begin);
