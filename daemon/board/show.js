// Renews what stands on the page from what is known. Asks nothing and changes nothing.

import { station, called, cylinder, figure, gauge, question, route, scale, stop } from './state.js';
import { draw } from './engine.js';
import { fit } from './fit.js';
import { goesOn, now, STATES } from './now.js';
import { size } from './units.js';
import { lineWords } from './words.js';

export const $ = (id) => document.getElementById(id);

/** Sets a text only where it differs, so that nothing flickers or is read out twice. */
export function words(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

export function element(name, text, className) {
  const node = document.createElement(name);
  if (text !== undefined) node.textContent = text;
  if (className) node.className = className;
  return node;
}

const PHASE = {
  idle: 'not in use',
  waiting: 'ready',
  moving: 'moving',
  delivering: 'pouring',
  refilling: 'refilling',
  still: 'settling',
  held: 'got it',
  away: 'not touching',
  paused: 'on hold',
};

const STATE = {
  left: ['', 'left'],
  held: ['◐', 'held'],
  taken: ['✓', 'taken'],
  skipped: ['–', 'skipped'],
};

export const stale = () => station.link !== 'live';

/** A value as it is said, parted from its unit. */
function parted(shown) {
  const at = shown.indexOf(' ');
  return at < 0 ? [shown, ''] : [shown.slice(0, at), shown.slice(at + 1)];
}

/** The live value and how still it is; called for every value that comes. */
export function live() {
  const shown = gauge();
  const value = shown?.live?.[0];
  const here = stop();
  const heard = shown && shown.link === 'live' && value;
  const seen = heard ? figure(value, here) : { text: '–', unit: '', from: '' };
  words($('digits'), seen.text);
  words($('unit'), seen.unit);
  beside(shown, heard ? value : null, here, seen);
  const still = heard ? Math.round(value.stillness * 10) : 0;
  const steps = $('still');
  if (steps.getAttribute('aria-valuenow') !== String(still)) {
    steps.setAttribute('aria-valuenow', String(still));
    [...steps.children].forEach((one, i) => one.classList.toggle('on', i < still));
  }
  // A value that waits for the rest of its pour is not taken yet.
  const rest = value?.phase === 'held' && route()?.so_far ? 'waiting for the rest' : PHASE[value?.phase];
  const phase = heard ? rest ?? value.phase : shown ? lineWords(shown.link) : 'no gauge';
  words($('phase'), phase);
  steps.setAttribute('aria-valuetext', phase);
  words($('gauge'), shown ? `${shown.setup.name}${value?.status ? `: ${value.status}` : ''}` : '');
  $('live').dataset.stale = String(stale() || Boolean(shown && !heard && shown.link !== 'by eye'));
  $('stale-note').hidden = !stale();
  // A gauge that is read by eye sends no line: the engine has its place.
  document.querySelector('.trace').hidden = shown?.link === 'by eye';
  state();
}

/** What stands beside the digits: what the gauge itself shows, how much is left in the burette. */
function beside(shown, value, here, seen) {
  const own = value ? scale(value, here) : null;
  const other = own && own.unit && (seen.from === 'went in' || seen.from?.includes('zero'));
  words($('scale'), other ? `scale ${own.text}` : '');
  const holds = size(shown?.setup.capacity, own?.unit);
  const counts = shown?.setup.counts;
  const left = other && holds !== null && counts ? (counts === 'up' ? holds - own.value : own.value) : null;
  words($('left-in'), left === null ? '' : `${Math.max(0, left).toFixed(0)} ${own.unit} left`);
  const along = value ? shown.live.slice(1) : [];
  const named = along.map((c) => `${c.channel} ${scale(c, here).text} ${scale(c, here).unit}`);
  if (named.length && value.channel) named.unshift(value.channel);
  words($('along'), named.join(' · '));
}

/** The state panel: colour, frame, sign and word; what was read stands where its chamber is named. */
function state() {
  const is = now();
  const [sign, word] = STATES[is.state];
  $('now').dataset.state = stale() ? 'lost' : is.state;
  $('now').dataset.stale = String(stale());
  words($('sign'), stale() ? STATES.lost[0] : sign);
  words($('state'), stale() ? 'STALE' : is.word ?? word);
  const got = is.state === 'got' && station.last && !stale();
  const r = route();
  const here = stop();
  const more = is.state === 'pouring' && goesOn();
  $('to-type').hidden = is.state !== 'type';
  $('offer').hidden = [...$('offer').children].every((one) => one.hidden);
  $('live').hidden = Boolean(got);
  $('got').hidden = !got;
  if (got) {
    const flow = flowed(station.last);
    const [number, unit] = parted(flow?.shown ?? station.last.shown);
    words($('got-digits'), number);
    words($('got-unit'), unit);
    words($('got-means'), flow?.means ?? besides(r, station.last));
    $('got').dataset.lines = String(Boolean(flow));
  }
  // The name over the digits is that of the chamber that they belong to.
  const before = Boolean(got || more);
  words($('stop'), here ? called(here.spot) : nowhere(r));
  words($('of'), before ? called(station.last.spot) : '');
  $('of').hidden = !before;
  for (const id of ['stop', 'round']) $(id).hidden = before;
  const rounds = r ? Math.max(...r.stops.map((s) => s.round)) : 0;
  words($('round'), here && rounds > 1 ? `round ${here.round} of ${rounds}` : '');
  const next = got && here ? `Next: ${called(here.spot)}. ` : '';
  words($('prompt'), `${next}${prompt(r)}`);
  const last = !got && station.last ? station.last : null;
  $('last').hidden = !last;
  words($('last'), last ? `✓ ${called(last.spot)} ${last.shown}${last.means ? `, ${last.means}` : ''}` : '');
  fit();
}

/** How the last reading compares with the others and with the round before. */
function besides(r, last) {
  const before = r?.stops.find((s) => s.spot === last.spot && s.round === last.round - 1 && s.shown);
  return [last.means, before && `round ${before.round}: ${before.shown}`].filter(Boolean).join('\n');
}

/** A port's flow at the reference depression, with the pressures behind it, where the report has it. */
function flowed(last) {
  const found = station.flows.find((f) => f.spot === last.spot);
  if (!found?.flow_at_reference) return null;
  const said = (name, one) => (one ? `${name} ${one.value.toFixed(2)} ${one.unit}` : '');
  const at = station.depression ? `at ${Number(station.depression.value.toFixed(2))} ${station.depression.unit}` : '';
  const seconds = station.readings.get(last.reading)?.window_s;
  const over = seconds ? `mean of ${seconds.toFixed(0)} s` : '';
  const means = [at, said('test', found.test_pressure), said('metering', found.metering_pressure), over];
  const flow = found.flow_at_reference;
  return { shown: `${flow.value.toFixed(1)} ${flow.unit}`, means: means.filter(Boolean).join('\n') };
}

function nowhere(r) {
  if (!r) return station.job ? 'Begin a route' : 'Begin a job';
  return r.done ? 'all stops' : 'late drops still count';
}

/** How the page itself stands to the daemon. */
export function connection() {
  const quiet = Math.round((Date.now() - station.heardAt) / 1000);
  const said = {
    opening: ['…', 'connecting'],
    live: ['●', 'live'],
    lost: ['✕', `stale: nothing heard for ${quiet} s, trying again`],
    stopped: ['✕', 'stale: benchhand has stopped'],
    shut: ['✕', 'not let in any more: the page is loaded again'],
  }[station.link];
  $('link').dataset.state = station.link;
  words($('link').querySelector('.sign'), said[0]);
  words($('link-words'), said[1]);
}

/** Where the route stands: everything that changes from stop to stop. */
export function standing() {
  const r = route();
  const job = station.job;
  words($('job'), job ? `${job}${station.stage ? ` · ${station.stage}` : ''}` : 'benchhand');
  $('job').href = job ? `/jobs/${encodeURIComponent(job)}` : '/jobs';
  if (r) {
    const got = r.stops.filter((s) => s.state === 'taken' || s.state === 'held').length;
    const skipped = r.stops.filter((s) => s.state === 'skipped').length;
    words($('progress'), `${got} of ${r.stops.length} taken${skipped ? `, ${skipped} skipped` : ''}: ${r.title.split(/[,:]/)[0]}`);
  } else words($('progress'), '');
  words($('so-far'), r?.so_far ? `${r.so_far} so far` : '');
  offer(r);
  const hold = $('hold');
  const held = r?.prompt?.startsWith('on hold');
  hold.dataset.do = held ? 'resume' : 'hold';
  if (hold.firstChild.nodeValue !== (held ? 'Continue ' : 'Hold ')) hold.firstChild.nodeValue = held ? 'Continue ' : 'Hold ';
  for (const button of document.querySelectorAll('.controls [data-do], #more [data-do]')) {
    const always = ['route', 'keys', 'move', 'more', 'sound', 'light'].includes(button.dataset.do);
    // A reading cannot be taken before the question is answered.
    const shut = button.dataset.do === 'take' && Boolean(question());
    button.disabled = always ? false : !r?.running || shut;
  }
  stops(r);
  engine(r);
  odd();
  care(r);
  gauges();
  live();
}

/** What can be done where no route runs: the way on is a button. */
function offer(r) {
  const job = station.job;
  $('take-up').hidden = !(r && !r.running && !r.done);
  $('to-end').hidden = !(r?.running && (r.at ?? null) === null && !question());
  const done = Boolean(r && !r.running && r.done);
  $('to-report').hidden = !done;
  if (job) $('to-report').href = `/jobs/${encodeURIComponent(job)}/report`;
  $('to-next').hidden = !(done && station.next);
  words($('to-next'), station.next ? `Next: ${station.next.name}` : 'Next');
  $('to-route').hidden = !job || Boolean(r?.running);
  words($('to-route'), done ? 'Another route' : 'Begin a route');
  $('to-job').hidden = Boolean(job);
  $('to-gauges').hidden = station.gauges.size > 0;
}

function prompt(r) {
  if (!r) return station.job ? 'Choose what to measure; the board asks for one stop after the other.' : 'A job is one engine, or one pair of heads.';
  if (r.running) return lostPrompt() ?? r.prompt;
  if (r.done) return r.title;
  return 'The route stands half-way.';
}

/** A gauge that is lost is named, with what to do. */
function lostPrompt() {
  const shown = gauge();
  if (!shown || ['live', 'by eye'].includes(shown.link)) return null;
  return `${shown.setup.name} is ${lineWords(shown.link)}${shown.todo ? `: ${shown.todo}` : ''}`;
}

function stops(r) {
  const list = $('stops');
  const rows = (r?.stops ?? []).map((s, i) => {
    const row = element('li');
    const here = i === r.at;
    row.className = here ? 'here' : s.state;
    if (here) row.setAttribute('aria-current', 'step');
    const [sign, word] = here ? ['▶', 'here'] : STATE[s.state];
    const mark = element('span', sign, 'mark');
    mark.setAttribute('aria-hidden', 'true');
    row.append(mark, element('span', called(s.spot), 'spot'), element('span', `round ${s.round}`, 'round'));
    row.append(element('span', s.shown || word, 'got'));
    return row;
  });
  list.replaceChildren(...rows);
  const here = list.querySelector('.here');
  // Only the list itself scrolls: the page must not jump under a hand.
  if (here) list.scrollTop = here.offsetTop - list.clientHeight / 2;
}

/** Findings that say that something is out of line with the others. */
const unlike = () => station.findings.filter((f) => f.kind === 'outlier' || f.kind === 'disagrees');

function engine(r) {
  if (!station.engine) {
    $('engine').replaceChildren();
    return;
  }
  words($('engine-name'), `${station.engine.name}${station.engine.invented ? ' (invented)' : ''}`);
  const view = {
    banks: station.engine.banks,
    stops: r?.stops ?? [],
    at: r?.at ?? null,
    last: station.last ? cylinder(station.last.spot) : null,
    odd: new Set(unlike().map((f) => cylinder(f.spot)).filter((c) => c !== null)),
    cylinderOf: cylinder,
  };
  $('engine').replaceChildren(draw(view));
}

function odd() {
  const found = unlike();
  const rows = found.map((f) => {
    const row = element('li');
    const mark = element('span', '!', 'mark');
    mark.setAttribute('aria-hidden', 'true');
    row.append(mark, element('span', `${called(f.spot)}: ${f.text}`));
    return row;
  });
  if (rows.length === 0) rows.push(element('li', station.readings.size ? 'Nothing so far.' : 'Nothing is taken yet.'));
  for (const [kind, words] of [['missing', 'Not measured in this job'], ['unrepeated', 'Taken only once']]) {
    const sorts = new Map();
    for (const f of station.findings.filter((one) => one.kind === kind)) {
      const sort = called(f.spot.replace(/^free\//, '').split('/')[0]);
      sorts.set(sort, (sorts.get(sort) ?? 0) + 1);
    }
    const named = [...sorts].map(([sort, count]) => `${count} × ${sort}`);
    if (named.length > 0) rows.push(element('li', `${words}: ${named.join(', ')}`, 'faint'));
  }
  $('odd').replaceChildren(...rows);
}

/** What the running route warns of, for as long as it runs. */
function care(r) {
  const told = r?.running ? r.cautions ?? [] : [];
  $('care').hidden = told.length === 0;
  $('care-list').replaceChildren(...told.map((one) => element('li', `⚠ ${one}`)));
}

function gauges() {
  const rows = [...station.gauges.values()].map((g) => {
    const bad = g.link === 'lost' || g.link === 'silent';
    const row = element('li', undefined, bad ? 'bad' : '');
    const mark = element('span', bad ? '✕' : g.link === 'live' ? '●' : '○', 'mark');
    mark.setAttribute('aria-hidden', 'true');
    row.append(mark, element('span', `${g.setup.name}: ${lineWords(g.link)}${g.todo ? `, ${g.todo}` : ''}`));
    return row;
  });
  if (rows.length === 0) rows.push(element('li', 'No gauge is set up.', 'faint'));
  $('gauges').replaceChildren(...rows);
}

/** Offers the step that lets a route begin. */
export function offerToMend(step) {
  $('mend').hidden = !step;
  words($('mend'), step ? `Zero ${step.gauge} where it rests now, and start` : '');
}

/** What was said, or why something was refused. */
export function said(text) {
  words($('said'), text);
}

export function refused(text) {
  $('refused').hidden = !text;
  words($('refused'), text ? `✕ ${text}` : '');
}
