// Puts the page together: lets it in, follows the bench, hands touches and keys on.

import { ask, change, follow } from './api.js';
import { station, gauge, inEngineUnits, renew, renewJob, route, take } from './state.js';
import { $, connection, live, offerToMend, refused, said, standing as rest } from './show.js';
import * as asked from './asked.js';
import * as entry from './entry.js';
import * as fitted from './fit.js';
import * as trace from './trace.js';
import { nextRoute } from './next.js';
import * as panels from './panels.js';
import * as sound from './sound.js';

/** How long the page says why it is loaded again. */
const SHUT_MS = 2500;

let unfollow = null;

/** Where the route stands, and what is asked there. */
function standing() {
  rest();
  asked.show();
}

/** Asks for everything, then follows from there. */
async function begin() {
  unfollow?.();
  try {
    renew(await ask('state'));
    await chooseJob();
  } catch (error) {
    if (error.status === 401) return shut();
    station.link = 'lost';
    connection();
    setTimeout(begin, 2000);
    return;
  }
  unfollow = follow(station.id, told);
  standing();
}

/** The pass has lapsed. The page is loaded again: the daemon shows where a code can be typed. */
function shut() {
  if (station.link === 'shut') return;
  station.link = 'shut';
  unfollow?.();
  connection();
  live();
  refused('This page is not let in any more; it is loaded again.');
  setTimeout(() => location.reload(), SHUT_MS);
}

/** Chooses a job: the wanted one, else the one in the address, the one whose route runs, the one shown before, or the one changed last. */
async function chooseJob(wanted) {
  const jobs = (await ask('jobs')).jobs;
  const names = jobs.map((j) => j.name);
  const running = [...station.routes.keys()][0];
  const before = sessionStorage.getItem('job');
  const named = new URLSearchParams(location.search).get('job');
  const job = [wanted, named, running, before, names[0]].find((j) => j && (names.includes(j) || j === running));
  if (job !== station.job) station.last = null;
  station.job = job ?? null;
  if (!job) return;
  sessionStorage.setItem('job', job);
  if (named && named !== job) history.replaceState(null, '', `/measure?job=${encodeURIComponent(job)}`);
  const [detail, shape] = await Promise.all([ask('jobs/show', { job }), ask('jobs/engine', { job })]);
  renewJob(detail);
  station.engine = shape;
  await judge();
  await whatNext();
}

/** What could be measured next, where no route runs. */
async function whatNext() {
  station.next = route()?.running ? null : nextRoute((await ask('routes')).routes);
}

/** What disagrees, as the report finds it. */
async function judge() {
  try {
    const report = await ask('jobs/report', { job: station.job });
    station.findings = report.document.findings ?? [];
    station.flows = report.document.flow ?? [];
    station.depression = report.document.inputs?.reference_depression ?? null;
  } catch {
    station.findings = [];
    station.flows = [];
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
  if (station.link === 'shut') return;
  if (one.shut) return shut();
  if (one.lost) {
    if (station.link === 'live') sound.say('gauge', 'the board lost its connection');
    if (station.link !== 'stopped') station.link = 'lost';
    connection();
    live();
    return;
  }
  station.heardAt = Date.now();
  if (station.link !== 'live' && (one.open || one.event)) {
    station.link = 'live';
    connection();
    live();
  }
  if (!one.event) return;
  if (one.event.event === 'stopping') {
    station.link = 'stopped';
    connection();
    live();
    return;
  }
  hear(one.event);
}

/** Which of several voices this board has: two routes that run at once sound unlike. */
function voice() {
  const running = [...station.routes.keys()].sort();
  return running.length > 1 ? Math.max(0, running.indexOf(station.job)) : 0;
}

function hear(event) {
  switch (take(event)) {
    case 'value':
      if (event.gauge === gauge()?.setup.name) {
        live();
        trace.note();
      }
      break;
    case 'say':
      if (event.job && event.job !== station.job) break;
      // A question stands above, for as long as it waits.
      if (event.said_as !== 'asked') said(inEngineUnits(event.text));
      sound.say(event.said_as, inEngineUnits(event.text), voice());
      break;
    case 'route': {
      const job = event.progress.job;
      if (event.progress.running && job !== station.job && !station.routes.has(station.job)) {
        turnToJob(job);
        break;
      }
      if (!event.progress.running || event.progress.done) {
        judgeSoon();
        report(whatNext).then(standing);
      }
      standing();
      break;
    }
    case 'reading':
      if (event.job === station.job && ['held', 'final'].includes(event.reading.state)) trace.taken(event.reading);
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
  if (station.link === 'shut') return null;
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

/** The route that could not begin, and the step that lets it. */
let unbegun = null;

/** Starts a route; where a zero is missing, zeroing and starting becomes a button. */
async function startRoute(order) {
  unbegun = null;
  try {
    return await change('routes/start', order);
  } catch (error) {
    const step = error.refusal?.next_step;
    if (step?.step === 'zero') unbegun = { order, step };
    throw error;
  } finally {
    offerToMend(unbegun?.step);
  }
}

async function mendAndStart() {
  const { order, step } = unbegun;
  await change('gauges/zero', { job: step.job, name: step.gauge });
  await startRoute(order);
}

function control(what) {
  return report(() => change('routes/control', { job: station.job, ...what }));
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
    case 'more':
      $('more-panel').showModal();
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
  const typing = event.target.closest?.('input, select, textarea, dialog:not(#more-panel)');
  if (typing?.checkVisibility() || event.ctrlKey || event.altKey || event.metaKey) return;
  // A key that is kept down must not answer the next question too.
  const open = document.querySelector('dialog[open]');
  // The panel behind "More" names keys itself: there they do what they say.
  if ((open && open.id !== 'more-panel') || !$('keys-on').checked || event.repeat) return;
  const known = panels.KEYS.find(([key]) => key === event.key.toLowerCase());
  if (!known || (open && known[2] === 'more')) return;
  const button =
    document.querySelector(`#asked [aria-keyshortcuts="${known[0]}"]`) ??
    document.querySelector(`:is(.controls, #more) [aria-keyshortcuts="${known[0]}"]`);
  if (button?.disabled) return;
  event.preventDefault();
  if (open) open.close();
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
  fitted.prepare();
  trace.prepare();
  for (const row of [document.querySelector('.controls'), $('answers'), $('asked-drop').parentNode, $('more'), $('to-route').parentNode]) {
    row.addEventListener('click', (event) => {
      const what = event.target.closest('button')?.dataset.do;
      if (!what) return;
      if (!['sound', 'light'].includes(what)) $('more-panel').close();
      act(what);
    });
  }
  $('to-next').addEventListener('click', () => report(() => panels.openRoute(turnToJob, station.next?.name)));
  $('take-up').addEventListener('click', () => {
    const { job, route: name } = route();
    report(() => startRoute({ job, route: name }));
  });
  $('mend').addEventListener('click', () => report(mendAndStart));
  $('route-start').addEventListener('click', () =>
    report(async () => {
      $('route-panel').close();
      const chosen = panels.chosenRoute();
      for (const said of panels.typedConditions()) await change('conditions/set', { job: chosen.job, ...said });
      await startRoute(chosen);
    }),
  );
  $('to-end').addEventListener('click', () => control({ control: 'end' }));
  $('route-end').addEventListener('click', () => {
    $('route-panel').close();
    control({ control: 'end' });
  });
  // Time passes even where no value comes: what stands large for a few seconds goes.
  setInterval(() => {
    connection();
    live();
  }, 1000);
}

prepare();
begin();
