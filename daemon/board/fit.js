// Makes the digits as large as their place allows: they are read from across the room. Knows
// widths and heights, and nothing of what the digits mean.

/** Digits are to be 18 % of the screen's height at least; they are about 0.7 of the type's size. */
const OF_HEIGHT = 0.265;

/** On an upright screen a word is not made smaller than capitals of 4 % of the height, a long name
 * not smaller than a little less; then it takes two lines. Type sizes, as shares of the height. */
const LEAST_WORD = { state: 0.06, name: 0.05 };

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
    if (!upright) continue;
    const style = getComputedStyle(node);
    // The sign and its space are about as wide as one more letter.
    const wide = width(node.textContent.trim(), style.fontFamily) * parseFloat(style.fontSize) * 1.06;
    const least = innerHeight * LEAST_WORD[node.matches('.state') ? 'state' : 'name'];
    const fits = (parseFloat(style.fontSize) * top.clientWidth) / wide;
    node.style.whiteSpace = fits < least ? 'normal' : '';
    if (fits < parseFloat(style.fontSize)) node.style.fontSize = `${Math.max(fits, least)}px`;
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
  const room = (place.clientWidth - beside - unit) / width(text, family);
  const size = Math.floor(Math.min(room, upright ? innerHeight * 0.3 : innerHeight * OF_HEIGHT));
  digits.style.fontSize = `${Math.max(40, size)}px`;
}

/** Fits anew when the place changes. */
export function prepare() {
  const observed = new ResizeObserver(() => fit());
  observed.observe(document.getElementById('now'));
}
