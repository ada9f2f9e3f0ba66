// A value read by eye, typed with wet fingers: as it is, as a burette's two levels, or as a
// dial's turns and hand. The daemon decides what it comes to and whether it looks like a slip.

import { change } from './api.js';
import { station, called, gauge, stop } from './state.js';
import { $, element, words } from './show.js';

const WAYS = [
  { id: 'value', label: 'Value' },
  { id: 'levels', label: 'Two levels', kind: 'volume' },
  { id: 'dial', label: 'Turns and hand', kind: 'length' },
];
const KEYS = ['7', '8', '9', '⌫', '4', '5', '6', '−', '1', '2', '3', 'Next', '0', '.'];
const KEY_NAMES = { '⌫': 'delete', '−': 'minus sign', '.': 'decimal point', Next: 'next field' };

let here = null;
let way = 'value';
let field = null;

/** Opens the panel for the stop where the route stands. */
export function open() {
  words($('type-refused'), '');
  here = stop();
  if (!here) return;
  words($('type-title'), `${called(here.spot)}, round ${here.round}`);
  const known = WAYS.filter((w) => !w.kind || w.kind === here.kind);
  const last = localStorage.getItem(`way-${here.kind}`);
  way = known.some((w) => w.id === last) ? last : here.kind === 'volume' ? 'levels' : 'value';
  const choices = known.map((w) => {
    const label = element('label');
    const radio = element('input');
    Object.assign(radio, { type: 'radio', name: 'way', value: w.id, checked: w.id === way });
    radio.addEventListener('change', () => turnTo(w.id));
    label.append(radio, ` ${w.label}`);
    return label;
  });
  $('type-ways').replaceChildren(element('legend', 'Read off as'), ...choices);
  $('type-panel').showModal();
  turnTo(way);
}

/** What a deck's sign means: nobody is to keep one on the wrong side of zero unawares. */
const SIGN = 'A piston below the deck, in the hole, is positive; out of the hole it is negative: type −.';
const isDeck = () => here.spot.startsWith('deck/');

/** A number with its unit, of a deck with what its sign means: `-0.010 in, out of the hole`. */
function told(value, decimals) {
  const text = `${value.toFixed(decimals)} ${here.unit}`;
  if (!isDeck() || Number(value.toFixed(decimals)) === 0) return text;
  return `${text}, ${value > 0 ? 'in' : 'out of'} the hole`;
}

function turnTo(to) {
  way = to;
  localStorage.setItem(`way-${here.kind}`, way);
  $('type-fields').replaceChildren();
  $('type-sign').hidden = !isDeck();
  words($('type-sign'), isDeck() ? SIGN : '');
  if (way === 'value') add('value', `${flows() ? 'Test pressure' : 'Value'} in ${here.unit}`);
  // A flow is two pressures, read over the same breath.
  if (flows()) add('along', `Metering pressure in ${here.unit}`);
  if (way === 'levels') pair();
  if (way === 'dial') {
    add('turn', `One turn is, in ${here.unit}`, localStorage.getItem(`turn-${here.unit}`) ?? (here.unit === 'in' ? '0.100' : '1.00'));
    add('turns', 'Whole turns, − on the other side of zero');
    add('hand', `Hand, in ${here.unit}`);
  }
  const first = [...$('type-fields').querySelectorAll('input')].find((i) => !i.value);
  first?.focus();
  sum();
}

const flows = () => here.spot.startsWith('flow/');

function pair() {
  const n = $('type-fields').querySelectorAll('[name=from]').length;
  const which = n > 0 ? `, pour ${n + 1}` : '';
  add('from', `Level before${which}, ${here.unit}`);
  add('to', `Level after${which}, ${here.unit}`);
  let more = $('type-more');
  if (!more) {
    more = element('button', 'Refilled: another pour');
    Object.assign(more, { type: 'button', id: 'type-more' });
    more.addEventListener('click', () => {
      pair();
      [...$('type-fields').querySelectorAll('[name=from]')].at(-1).focus();
    });
  }
  $('type-fields').append(more);
}

function add(name, text, value = '') {
  const label = element('label', text, 'field');
  const input = element('input');
  // Our own keys stand below; the device's would cover them.
  Object.assign(input, { name, value, autocomplete: 'off', inputMode: 'none' });
  input.addEventListener('focus', () => {
    field = input;
  });
  input.addEventListener('input', () => {
    words($('type-refused'), '');
    sum();
  });
  label.append(input);
  $('type-fields').append(label);
}

const number = (text) => Number(text.trim().replace(',', '.').replace('−', '-'));
const all = (name) => [...$('type-fields').querySelectorAll(`[name=${name}]`)].map((i) => i.value);

/** What was typed as the daemon wants it, or null while something is missing. */
function typed() {
  const texts = [...$('type-fields').querySelectorAll('input')].map((i) => i.value);
  if (texts.some((t) => t.trim() === '' || !Number.isFinite(number(t)))) return null;
  const with_unit = (text) => `${text.trim().replace(',', '.').replace('−', '-')} ${here.unit}`;
  const along = all('along').map((text) => ` and ${with_unit(text)}`);
  if (way === 'value') return { value: [with_unit(all('value')[0]), ...along].join('') };
  if (way === 'levels') {
    const to = all('to');
    return { levels: all('from').map((from, i) => ({ from: with_unit(from), to: with_unit(to[i]) })) };
  }
  const turns = number(all('turns')[0]);
  if (!Number.isInteger(turns)) return null;
  // JSON has no −0: within the first turn the hand carries the sign that was typed.
  const minus = /^[-−]/.test(all('turns')[0].trim());
  const hand = all('hand')[0].trim();
  const signed = turns === 0 && minus && !/^[-−]/.test(hand) ? `-${hand}` : hand;
  return { dial: { turns, turn: with_unit(all('turn')[0]), hand: with_unit(signed) } };
}

/** A look at what it comes to, before it is kept. */
function sum() {
  const now = typed();
  const decimals = Math.max(0, ...[...$('type-fields').querySelectorAll('input')].map((i) => (i.value.split(/[.,]/)[1] ?? '').length));
  let text = now ? '' : 'Type each field; a comma or a point is the decimal sign.';
  if (now?.levels) {
    const total = now.levels.reduce((t, p) => t + Math.abs(number(p.to.split(' ')[0]) - number(p.from.split(' ')[0])), 0);
    text = `Poured: ${total.toFixed(decimals)} ${here.unit}`;
  }
  if (now?.dial) {
    const turn = number(all('turn')[0]);
    const hand = number(now.dial.hand.split(' ')[0]);
    const side = now.dial.turns < 0 || hand < 0 ? -1 : 1;
    text = `Reads: ${told(now.dial.turns * turn + side * Math.abs(hand), decimals)}`;
  }
  if (now?.value && isDeck()) text = `That is ${told(number(now.value.split(' ')[0]), decimals)}`;
  words($('type-sum'), text);
  $('type-keep').disabled = !now;
}

/** Hands it over. Where it lies far off or looks like a slip, the board asks. */
async function keep() {
  const now = typed();
  if (!now) return;
  if (now.dial) localStorage.setItem(`turn-${here.unit}`, all('turn')[0]);
  $('type-keep').disabled = true;
  try {
    await change('routes/control', { job: station.job, control: 'type', ...now });
    $('type-panel').close();
  } catch (error) {
    words($('type-refused'), error.message);
    field?.focus();
    field?.select();
  } finally {
    $('type-keep').disabled = false;
  }
}

function press(key) {
  const inputs = [...$('type-fields').querySelectorAll('input')];
  const to = field && inputs.includes(field) ? field : inputs[0];
  if (!to) return;
  if (key === 'Next') {
    inputs[(inputs.indexOf(to) + 1) % inputs.length].focus();
    return;
  }
  to.focus();
  const [start, end] = [to.selectionStart, to.selectionEnd];
  if (key === '⌫') to.setRangeText('', start === end ? Math.max(0, start - 1) : start, end, 'end');
  else to.setRangeText(key, start, end, 'end');
  to.dispatchEvent(new Event('input'));
}

/** Puts the panel together, once. */
export function prepare() {
  $('keypad').replaceChildren(
    ...KEYS.map((key) => {
      const button = element('button', key);
      button.type = 'button';
      if (KEY_NAMES[key]) button.setAttribute('aria-label', KEY_NAMES[key]);
      button.addEventListener('click', () => press(key));
      return button;
    }),
  );
  $('type-keep').addEventListener('click', keep);
  $('type-fields').addEventListener('keydown', (event) => {
    if (event.key !== 'Enter') return;
    event.preventDefault();
    const inputs = [...$('type-fields').querySelectorAll('input')];
    const next = inputs.slice(inputs.indexOf(event.target) + 1).find((i) => !i.value);
    if (next) next.focus();
    else keep();
  });
}

/** Whether a stop can only be typed: its gauge is read by eye. */
export const byEye = () => gauge()?.link === 'by eye';
