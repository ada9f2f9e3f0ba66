// Makes the digits as large as their place allows: they are read from across the room. Knows
// widths and heights, and nothing of what the digits mean.

/** Digits are to be 18 % of the screen's height at least; they are about 0.7 of the type's size. */
const OF_HEIGHT = 0.265;

/** The digits stand this much closer than their type asks for (board.css), in sizes of the type. */
const CLOSER = 0.01;

/** Capitals are to be 5 % of the screen's height at least; they are about 0.73 of the type's size. A
 * word that is too long for that on an upright screen does without its sign, then takes two lines. */
const LEAST_WORD = 0.0692;

const pen = document.createElement('canvas').getContext('2d');
let shown = '';

/** How wide a text is in type of size 1; every digit counts as a 0, so that nothing jitters. */
function width(text, family) {
  pen.font = `700 100px ${family}`;
  return pen.measureText(text.replace(/\d/g, '0')).width / 100;
}

/** State and stop are one line each on an upright screen; a long name is made smaller. */
function fitWords() {
  const upright = innerHeight > innerWidth;
  const top = document.querySelector('.top');
  for (const node of top.querySelectorAll('.state, .where > :is(h2, .of):not([hidden])')) {
    const key = [node.textContent, top.clientWidth, upright, innerHeight].join();
    if (node.dataset.fitted === key || !top.clientWidth) continue;
    node.dataset.fitted = key;
    node.style.fontSize = '';
    node.style.whiteSpace = '';
    const sign = node.querySelector('.sign');
    if (sign) sign.hidden = false;
    if (!upright) continue;
    const style = getComputedStyle(node);
    const least = innerHeight * LEAST_WORD;
    const fits = (text) => top.clientWidth / (width(text.trim(), style.fontFamily) * 1.02);
    let size = fits(node.textContent);
    if (sign && size < least) {
      sign.hidden = true;
      size = fits(node.querySelector('strong').textContent);
    }
    node.style.whiteSpace = size < least ? 'normal' : '';
    node.style.fontSize = `${Math.max(Math.min(size, parseFloat(style.fontSize)), least)}px`;
  }
}

/** Fits the digits that are shown; only where something changed. */
export function fit() {
  fitWords();
  const place = document.querySelector('.live:not([hidden])');
  const digits = place?.querySelector('.digits > :first-child');
  if (!digits || !place.clientWidth) return;
  const upright = innerHeight > innerWidth;
  const beside = upright ? 0 : (place.querySelector('.beside')?.offsetWidth ?? 0) + 24;
  // On an upright screen the unit stands below the digits, and what stands beside them as well.
  const unit = upright ? 0 : (digits.nextElementSibling?.offsetWidth ?? 0) + 24;
  const text = digits.textContent.replace(/\d/g, '0');
  const key = [place.id, text, place.clientWidth, beside, unit, innerHeight, innerWidth].join();
  if (key === shown) return;
  shown = key;
  const family = getComputedStyle(digits).fontFamily;
  const room = (place.clientWidth - beside - unit) / (width(text, family) - CLOSER * text.length);
  const size = Math.floor(Math.min(room, upright ? innerHeight * 0.3 : innerHeight * OF_HEIGHT));
  digits.style.fontSize = `${Math.max(40, size)}px`;
}

/** Fits anew when the place changes. */
export function prepare() {
  const observed = new ResizeObserver(() => fit());
  observed.observe(document.getElementById('now'));
}
