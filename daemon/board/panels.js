// The panels beside typing: going to a stop, moving a reading, choosing job and route, keys.

import { ask, change } from './api.js';
import { station, called, cylinder, route } from './state.js';
import { $, element } from './show.js';

export const KEYS = [
  ['t', 'Take the reading now, if the gauge allows it', 'take'],
  ['a', 'Again: void the last reading and take it anew', 'again'],
  ['b', 'Back one stop', 'back'],
  ['s', 'Skip this stop', 'skip'],
  ['d', 'Add: the next pour belongs to the last reading', 'add'],
  ['p', 'Split: what was taken for one pour was two', 'split'],
  ['k', 'Keep: the value that is asked about is right', 'keep'],
  ['f', 'Refill: what is asked about was a refill, or no pour of a chamber', 'refill'],
  ['e', 'Delivered: what is asked about was poured out', 'delivered'],
  ['x', 'Drop: every value that waits behind the question is none', 'drop'],
  ['z', 'Undo: take back the last control', 'undo'],
  ['h', 'Hold, and continue', 'hold'],
  ['v', 'Type a value', 'type'],
  ['g', 'Go to a stop', 'go'],
  ['m', 'Move a reading to where it belongs', 'move'],
  ['r', 'Job and route', 'route'],
  ['u', 'Sound on or off', 'sound'],
  ['l', 'Light or dark', 'light'],
  ['.', 'More: what has no key of its own', 'more'],
  ['?', 'These keys', 'keys'],
];

function choice(text, detail, done) {
  const row = element('li');
  const button = element('button');
  button.type = 'button';
  button.append(element('span', text), element('span', detail, 'detail'));
  button.addEventListener('click', done);
  row.append(button);
  return row;
}

/** The stops of the route, to go to. */
export function openGo(control) {
  const r = route();
  if (!r) return;
  const seen = new Set();
  const rows = r.stops
    .filter((s) => !seen.has(s.spot) && seen.add(s.spot))
    .map((s) => {
      const own = r.stops.filter((o) => o.spot === s.spot);
      const got = own.filter((o) => o.shown).map((o) => o.shown);
      return choice(called(s.spot), got.join(', ') || own[0].state, () => {
        $('go-panel').close();
        control({ control: 'go', spot: s.spot });
      });
    });
  $('go-list').replaceChildren(...rows);
  $('go-panel').showModal();
}

/** The readings that count, the newest first; and the spots of the same sort elsewhere. */
export function openMove(report) {
  const live = [...station.readings.values()].filter((r) => r.state === 'held' || r.state === 'final');
  // What was revised came under a new number: the newest of a spot and round is the one that counts.
  const taken = new Set();
  const once = (r) => {
    const place = [r.stage, r.spot, r.round].join('|');
    return !taken.has(place) && taken.add(place);
  };
  const newest = live.filter((r) => cylinder(r.spot) !== null).sort((a, b) => b.id - a.id);
  const movable = newest.filter(once).slice(0, 40);
  $('move-what').replaceChildren(
    ...movable.map((r) => {
      const option = element('option', `${called(r.spot)}: ${Number((r.told ?? r.figure).value.toPrecision(7))} ${(r.told ?? r.figure).unit}`);
      option.value = r.id;
      return option;
    }),
  );
  $('move-what').onchange = () => targets(report);
  targets(report);
  $('move-panel').showModal();
}

function targets(report) {
  const reading = station.readings.get(Number($('move-what').value));
  const all = (station.engine?.banks ?? []).flatMap((b) => b.cylinders);
  const from = reading ? cylinder(reading.spot) : null;
  const spots = reading
    ? all.filter((c) => c !== from).map((c) => reading.spot.replace(`/${from}`, `/${c}`))
    : [];
  $('move-to').replaceChildren(
    ...spots.map((spot) =>
      choice(called(spot), '', async () => {
        $('move-panel').close();
        const body = { job: station.job, id: reading.id, to: spot, reason: 'said at the board' };
        await report(() => change('readings/move', body));
      }),
    ),
  );
  if (!reading) $('move-to').append(element('li', 'No reading is there to be moved.'));
}

let routes = [];

/** Job and route. */
export async function openRoute(turnToJob, wanted) {
  const [jobs, known] = await Promise.all([ask('jobs'), ask('routes', station.job ? { job: station.job } : undefined)]);
  routes = known.routes;
  fill($('route-job'), jobs.jobs.map((j) => [j.name, `${j.name} (${j.engine})`]), station.job);
  fill($('route-name'), routes.map((r) => [r.name, `${r.name}: ${r.title}`]), wanted ?? route()?.route);
  $('route-job').onchange = async () => {
    // Until the job's own choices are there, a choice would be made for the job before.
    closeChoices(true);
    try {
      await turnToJob($('route-job').value);
      // Free spots are of one job, and so are their routes.
      routes = (await ask('routes', { job: station.job })).routes;
      fill($('route-name'), routes.map((r) => [r.name, `${r.name}: ${r.title}`]), $('route-name').value);
      needs();
    } finally {
      closeChoices(false);
    }
  };
  $('route-name').onchange = needs;
  needs();
  $('route-end').hidden = !route()?.running;
  $('route-panel').showModal();
}

/** Whether route and gauges cannot be chosen, nor the route started. */
function closeChoices(closed) {
  $('route-rest').disabled = closed;
  $('route-start').disabled = closed;
}

function fill(select, pairs, chosen) {
  select.replaceChildren(
    ...pairs.map(([value, text]) => {
      const option = element('option', text);
      option.value = value;
      option.selected = value === chosen;
      return option;
    }),
  );
}

/** What a route needs: a choice where several gauges measure the same, and its cautions. */
function needs() {
  const one = routes.find((r) => r.name === $('route-name').value);
  const fitting = (one?.needs ?? []).map((kind) => [
    kind,
    [...station.gauges.values()].filter((g) => g.kind === kind),
  ]);
  const several = fitting.filter(([, known]) => known.length > 1);
  const none = fitting.filter(([, known]) => known.length === 0).map(([kind]) => kind);
  $('route-gauges').replaceChildren(
    ...none.map(withoutGauge),
    ...several.map(([kind, fitting]) => {
      const label = element('label', `Gauge for ${kind} `, 'field');
      const select = element('select');
      select.dataset.kind = kind;
      fill(select, fitting.map((g) => [g.setup.name, g.setup.name]));
      label.append(select);
      return label;
    }),
  );
  $('route-asks').replaceChildren(...(one?.asked ?? []).map(condition));
  stood();
  $('route-cautions').replaceChildren(...(one?.cautions ?? []).map((c) => element('li', `⚠ ${c}`)));
}

/** Says that no gauge measures what a route needs, and leads to where one is set up. */
function withoutGauge(kind) {
  const line = element('p', `No gauge for ${kind} is set up here. `, 'missing');
  const way = element('a', 'Set one up', 'button');
  way.href = '/gauges';
  line.append(way);
  return line;
}

/** Where the chosen route stood, where its last reading is more than a day old. */
function stood() {
  const here = route();
  const chosen = here?.job === $('route-job').value && here?.route === $('route-name').value;
  const was = chosen ? here.taken_up : null;
  $('route-stood').hidden = !was;
  if (!was) return;
  const lines = [`kept: ${was.kept?.join(', ') || 'none'}`];
  lines.push(...(was.open ?? []).map((one) => `open: ${one}`));
  if (was.next) lines.push(`next: ${was.next}`);
  lines.push(...(was.changed ?? ['nothing that was said here']).map((one) => `changed since: ${one}`));
  const list = element('ul');
  list.append(...lines.map((line) => element('li', line)));
  $('route-stood').replaceChildren(element('p', `Last reading ${was.ago} (${was.last} UTC).`), list);
}

/** A condition that the route's readings depend on; empty means not known. */
function condition(one) {
  const known = one.known ?? '';
  const missing = one.before ? ` (was ${one.before}, say it anew)` : ' (not known)';
  const label = element('label', `${one.label ?? one.name}${known ? '' : missing} `, 'field');
  const field = one.choices ? choices(one.choices, known) : element('input');
  if (!one.choices) Object.assign(field, { value: known, autocomplete: 'off' });
  Object.assign(field.dataset, { name: one.name, known });
  label.append(field);
  if (one.help) label.append(element('span', one.help, 'faint'));
  return label;
}

/** One of a few words; what is known and none of them stands among them. */
function choices(words, known) {
  const select = element('select');
  const pairs = [['', 'not known'], ...words.map((w) => [w.value, w.words])];
  if (!pairs.some(([value]) => value === known)) pairs.push([known, known]);
  fill(select, pairs, known);
  return select;
}

/** The conditions that were typed anew. */
export function typedConditions() {
  const fields = [...$('route-asks').querySelectorAll('input, select')];
  return fields
    .filter((i) => i.value.trim() && i.value !== i.dataset.known)
    .map((i) => ({ name: i.dataset.name, value: i.value.trim() }));
}

/** What to start. */
export function chosenRoute() {
  const gauges = {};
  for (const select of $('route-gauges').querySelectorAll('select')) gauges[select.dataset.kind] = select.value;
  return {
    job: $('route-job').value,
    route: $('route-name').value,
    gauges,
    afresh: $('route-afresh').checked,
  };
}

/** Puts the list of keys together, and lets every panel close. */
export function prepare() {
  $('keys-list').replaceChildren(
    ...KEYS.map(([key, what]) => {
      const row = element('div');
      row.append(element('dt', key.toUpperCase()), element('dd', what));
      return row;
    }),
  );
  $('keys-on').checked = localStorage.getItem('keys') !== 'off';
  $('keys-on').addEventListener('change', () => localStorage.setItem('keys', $('keys-on').checked ? 'on' : 'off'));
  for (const button of document.querySelectorAll('dialog .close')) {
    button.addEventListener('click', () => button.closest('dialog').close());
  }
}
