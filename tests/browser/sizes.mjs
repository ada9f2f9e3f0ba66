// How large words and digits are on the screen: heights of capitals and digits as they are drawn.

/** The three screens that the board is made for. */
export const SIZES = [
  ['wide', 1280, 800],
  ['wall', 1920, 1080],
  ['phone', 390, 844],
];

/** The height of a capital or digit in each of the elements that are seen, and their places. */
export const seen = (page, selectors) =>
  page.evaluate((wanted) => {
    const pen = document.createElement('canvas').getContext('2d');
    const low = document.querySelector('.controls').getBoundingClientRect().top;
    const of = (selector) => {
      const node = document.querySelector(selector);
      const box = node?.getBoundingClientRect();
      if (!node || !node.checkVisibility() || !box.width || !node.textContent.trim()) return null;
      const style = getComputedStyle(node);
      pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
      const letter = /\d/.test(node.textContent) ? '0' : 'H';
      const range = document.createRange();
      range.selectNodeContents(node);
      const drawn = range.getBoundingClientRect();
      const middle = document.elementFromPoint((drawn.left + drawn.right) / 2, (drawn.top + drawn.bottom) / 2);
      const open = node.contains(middle) || middle?.contains(node);
      return {
        high: pen.measureText(letter).actualBoundingBoxAscent,
        wide: drawn.width,
        left: drawn.left,
        right: drawn.right,
        top: drawn.top,
        bottom: drawn.bottom,
        whole: Boolean(open) && drawn.top >= 0 && drawn.left >= 0 && drawn.right <= innerWidth + 1 && drawn.bottom <= low + 1,
      };
    };
    return {
      of: Object.fromEntries(wanted.map((s) => [s, of(s)])),
      scrolls: document.documentElement.scrollWidth > innerWidth,
      top: scrollY,
    };
  }, selectors);
