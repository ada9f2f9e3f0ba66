// Renews what stands on the page from what is known. Asks nothing and changes nothing.

import { bench, called, cylinder, figure, gauge, question, route, stop } from './state.js';
import { draw } from './engine.js';

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

export const stale = () => bench.link !== 'live';

/** The live value and how still it is; called for every value that comes. */
export function live() {
  const shown = gauge();
  const value = shown?.live?.[0];
  const here = stop();
  const heard = shown && shown.link === 'live' && value;
  const seen = heard ? figure(value, here) : { text: '–', unit: '', from: '' };
  words($('digits'), seen.text);
  words($('unit'), seen.unit);
  const still = heard ? Math.round(value.stillness * 10) : 0;
  const steps = $('still');
  if (steps.getAttribute('aria-valuenow') !== String(still)) {
    steps.setAttribute('aria-valuenow', String(still));
    [...steps.children].forEach((step, i) => step.classList.toggle('on', i < still));
  }
  // What waits for the rest of its pour is not taken.
  const rest = value?.phase === 'held' && route()?.so_far ? 'waiting for the rest' : PHASE[value?.phase];
  const phase = heard ? rest ?? value.phase : shown ? linkWords(shown) : 'no gauge';
  words($('phase'), phase);
  steps.setAttribute('aria-valuetext', phase);
  const name = shown ? `${shown.setup.name}${seen.from ? `, ${seen.from}` : ''}` : '';
  words($('gauge'), value?.status ? `${name}: ${value.status}` : name);
  const along = heard ? shown.live.slice(1) : [];
  words($('along'), along.map((c) => `${c.channel} ${figure(c, null).text} ${c.unit}`).join('   '));
  $('live').dataset.stale = String(stale() || Boolean(shown && !heard && shown.link !== 'by eye'));
  $('stale-note').hidden = !stale();
}

export function linkWords(one) {
  const link = {
    off: 'switched off',
    opening: 'being opened',
    open: 'nothing heard yet',
    live: 'live',
    silent: 'SILENT',
    lost: 'LOST',
    'by eye': 'read by eye: type it (V)',
  };
  return link[one.link] ?? one.link;
}

/** How the page itself stands to the daemon. */
export function connection() {
  const quiet = Math.round((Date.now() - bench.heardAt) / 1000);
  const said = {
    opening: ['…', 'connecting'],
    live: ['●', 'live'],
    lost: ['✕', `stale: nothing heard for ${quiet} s, trying again`],
    stopped: ['✕', 'stale: the daemon has stopped'],
    shut: ['✕', 'not let in'],
  }[bench.link];
  $('link').dataset.state = bench.link;
  words($('link').querySelector('.sign'), said[0]);
  words($('link-words'), said[1]);
}

/** Where the route stands: everything that changes from stop to stop. */
export function standing() {
  const r = route();
  const here = stop();
  words($('job'), bench.job ? `${bench.job}${bench.stage ? ` · ${bench.stage}` : ''}` : 'benchhand');
  if (!r) {
    words($('progress'), '');
    words($('round'), '');
    words($('so-far'), '');
    words($('stop'), bench.job ? 'No route runs' : 'No job yet');
    words($('prompt'), bench.job ? 'Press Route to start one.' : 'Open one with benchhand job new.');
  } else {
    const got = r.stops.filter((s) => s.state === 'taken' || s.state === 'held').length;
    const skipped = r.stops.filter((s) => s.state === 'skipped').length;
    words($('progress'), `${r.title}: ${got} of ${r.stops.length} taken${skipped ? `, ${skipped} skipped` : ''}`);
    const rounds = Math.max(...r.stops.map((s) => s.round));
    words($('stop'), here ? called(here.spot) : r.done ? 'Done' : r.title);
    words($('round'), here && rounds > 1 ? `round ${here.round} of ${rounds}` : '');
    words($('so-far'), r.so_far ? `${r.so_far} so far` : '');
    words($('prompt'), prompt(r));
  }
  const half = Boolean(r && !r.running && !r.done);
  $('take-up').hidden = !half;
  $('stop').classList.toggle('at', Boolean(here));
  const held = r?.prompt?.startsWith('on hold');
  const hold = $('hold');
  hold.dataset.do = held ? 'resume' : 'hold';
  if (hold.firstChild.nodeValue !== (held ? 'Continue ' : 'Hold ')) hold.firstChild.nodeValue = held ? 'Continue ' : 'Hold ';
  for (const button of document.querySelectorAll('.controls [data-do]')) {
    const always = ['route', 'keys', 'move'].includes(button.dataset.do);
    // A reading cannot be taken before the question is answered.
    const shut = button.dataset.do === 'take' && Boolean(question());
    button.disabled = always ? false : !r?.running || shut;
  }
  stops(r);
  engine(r);
  odd();
  gauges();
  live();
}

function prompt(r) {
  if (r.running) return r.prompt;
  if (r.done) return `All stops are taken. benchhand report ${r.job}`;
  return 'The route stands half-way.';
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
const unlike = () => bench.findings.filter((f) => f.kind === 'outlier' || f.kind === 'disagrees');

function engine(r) {
  if (!bench.engine) {
    $('engine').replaceChildren();
    return;
  }
  words($('engine-name'), `${bench.engine.name}${bench.engine.invented ? ' (invented)' : ''}`);
  const view = {
    banks: bench.engine.banks,
    stops: r?.stops ?? [],
    at: r?.at ?? null,
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
  if (rows.length === 0) rows.push(element('li', bench.readings.size ? 'Nothing so far.' : 'Nothing is taken yet.'));
  const missing = bench.findings.filter((f) => f.kind === 'missing' || f.kind === 'unrepeated').length;
  if (missing > 0) rows.push(element('li', `${missing} missing or taken only once`, 'faint'));
  $('odd').replaceChildren(...rows);
}

function gauges() {
  const rows = [...bench.gauges.values()].map((g) => {
    const bad = g.link === 'lost' || g.link === 'silent';
    const row = element('li', undefined, bad ? 'bad' : '');
    const mark = element('span', bad ? '✕' : g.link === 'live' ? '●' : '○', 'mark');
    mark.setAttribute('aria-hidden', 'true');
    row.append(mark, element('span', `${g.setup.name}: ${linkWords(g)}${g.todo ? `, ${g.todo}` : ''}`));
    return row;
  });
  if (rows.length === 0) rows.push(element('li', 'No gauge is set up.', 'faint'));
  $('gauges').replaceChildren(...rows);
}

/** What was said, or why something was refused. */
export function said(text) {
  words($('said'), text);
}

export function refused(text) {
  $('refused').hidden = !text;
  words($('refused'), text ? `✕ ${text}` : '');
}
