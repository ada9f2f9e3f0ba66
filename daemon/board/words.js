// The words that the board and the pages of the gauges share.

const LINE = {
  off: 'switched off',
  opening: 'being opened',
  open: 'nothing heard yet',
  live: 'live',
  silent: 'SILENT',
  lost: 'LOST',
  'by eye': 'read by eye',
};

/** How a gauge's line is. */
export const lineWords = (link) => LINE[link] ?? link;
