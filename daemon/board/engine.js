// Draws the engine in its own banks, front at the left: which cylinder and port is next, what
// was taken, what disagrees. Every sign has a shape and a word of its own.

const NS = 'http://www.w3.org/2000/svg';
const STEP = 120;
const ROW = 190;

function make(name, attributes, text) {
  const node = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (text !== undefined) node.textContent = text;
  return node;
}

const SIGN = { here: '▶', taken: '✓', held: '◐', skipped: '–', left: '' };

/** What became of a cylinder's stops, in one: state, value, how many. */
export function summary(stops, cylinder, at, cylinderOf) {
  const own = stops.map((s, i) => ({ ...s, i })).filter((s) => cylinderOf(s.spot) === cylinder);
  const got = own.filter((s) => s.state === 'taken' || s.state === 'held');
  const spots = new Set(own.map((s) => s.spot));
  const here = own.find((s) => s.i === at);
  const state = here
    ? 'here'
    : own.some((s) => s.state === 'held')
      ? 'held'
      : own.length > 0 && own.every((s) => s.state === 'skipped')
        ? 'skipped'
        : got.length > 0 && own.every((s) => s.state !== 'left')
          ? 'taken'
          : got.length > 0
            ? 'part'
            : 'left';
  const value =
    got.length === 0 ? '' : spots.size === 1 ? got[got.length - 1].shown : `${got.length} of ${own.length}`;
  return { state, value, here, count: own.length, got: got.length };
}

const PORT_KINDS = ['flow', 'runner', 'seat', 'valve', 'throat', 'gap'];

/** The port that a spot names, or null. */
export function port(spot) {
  const parts = spot.split('/');
  return PORT_KINDS.includes(parts[0]) ? parts[2] : null;
}

/**
 * The drawing. `view` has `banks`, `stops`, `at` (index or null), `last` (the cylinder that was
 * read last, or null), `odd` (cylinders out of line) and `cylinderOf`.
 */
export function draw(view) {
  const most = Math.max(1, ...view.banks.map((b) => b.cylinders.length));
  const width = most * STEP + 60;
  const height = view.banks.length * ROW + 10;
  const words = [];
  const svg = make('svg', { viewBox: `0 0 ${width} ${height}`, role: 'img' });
  view.banks.forEach((bank, row) => {
    const top = row * ROW + 6;
    const group = make('g', {});
    group.append(make('rect', { class: 'bank', x: 4, y: top, width: width - 8, height: ROW - 10, rx: 10 }));
    const name = view.banks.length > 1 ? `bank ${bank.name}` : 'front';
    group.append(make('text', { class: 'bank-name', x: 0, y: 0, transform: `translate(30 ${top + ROW / 2 - 5}) rotate(-90)` }, name));
    bank.cylinders.forEach((cylinder, place) => {
      const s = summary(view.stops, cylinder, view.at, view.cylinderOf);
      const odd = view.odd.has(cylinder);
      const x = 60 + place * STEP + STEP / 2 - 10;
      group.append(one(s, { odd, last: cylinder === view.last }, cylinder, x, top, row, view.banks.length));
      const said = s.count === 0 ? '' : s.state === 'here' ? 'is next' : s.state === 'part' ? `${s.got} of ${s.count} taken` : s.state;
      words.push(`cylinder ${cylinder} ${said} ${s.value}${odd ? ', check' : ''}`.replace(/ +/g, ' ').trim());
    });
    svg.append(group);
  });
  svg.setAttribute('aria-label', `Front at the left. ${view.banks.map((b) => `Bank ${b.name}: ${b.cylinders.join(', ')}`).join('; ')}. ${words.join('; ')}`);
  return svg;
}

function one(s, { odd, last }, cylinder, x, top, row, rows) {
  const y = top + 74;
  const group = make('g', { class: `cylinder ${s.state}${s.count === 0 ? ' none' : ''}` });
  group.append(make('circle', { class: 'bore', cx: x, cy: y, r: 42 }));
  const here = s.here?.spot ?? '';
  const which = port(here);
  if (which) {
    // Inlets face the valley between two banks, outlets the outside.
    const inward = rows > 1 && row === 0 ? 1 : -1;
    const side = which.startsWith('exhaust') ? -inward : inward;
    const py = y + side * 54;
    group.append(make('rect', { class: 'port', x: x - 22, y: py - 9, width: 44, height: 18, rx: 4 }));
    group.append(make('text', { class: 'port-name', x, y: py + 5 }, which.startsWith('exhaust') ? 'EX' : 'IN'));
  }
  const point = here.split('/')[2];
  if (point === 'front' || point === 'rear') {
    group.append(make('circle', { class: 'point', cx: x + (point === 'front' ? -34 : 34), cy: y, r: 8 }));
  }
  group.append(make('text', { class: 'number', x, y: y + 14 }, String(cylinder)));
  const sign = odd && s.state !== 'here' ? '!' : s.state === 'part' ? `${s.got}/${s.count}` : SIGN[s.state];
  if (sign) {
    group.append(make('circle', { class: `badge${odd ? ' odd' : ''}`, cx: x + 34, cy: y - 34, r: sign.length > 1 ? 20 : 15 }));
    group.append(make('text', { class: 'badge-sign', x: x + 34, y: y - 27 }, sign));
  }
  // The last reading stands large at its own cylinder; its unit stands with the digits.
  const number = last && !s.value.includes(' of ') ? s.value.split(' ')[0] : s.value;
  group.append(make('text', { class: last ? 'value last' : 'value', x, y: top + ROW - 20 }, number));
  return group;
}
