// Where the value of a dimension stands in a drawing.

const SHARES = [0.5, 0.45, 0.55, 0.4, 0.6, 0.35, 0.65, 0.3, 0.7, 0.25, 0.75, 0.2, 0.8, 0.15, 0.85, 0.1, 0.9]; // along a line, from its middle out
const MOST_LINES = 100; // to stand on a word is worse than on any number of lines

// The box of a size on a line between two ends or beside it, between left and right, that lies on the fewest words and outlines;
// of equals the nearest to the middle. Outlines are lists of points, words the boxes that are taken.
function freest([a, b], [wide, tall], { left, right, outlines, taken }) {
  const isUpright = a[0] === b[0];
  const aside = isUpright ? [wide / 2 + tall / 4, 0] : [0, 0.75 * tall];
  const boxes = SHARES.flatMap((share) => [0, 1, -1].map((way) => {
    const [on, y] = [0, 1].map((i) => a[i] + (b[i] - a[i]) * share + way * aside[i]);
    const x = clamp(on, left + wide / 2, right - wide / 2);
    return [x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2];
  }));
  const all = [Math.min, Math.min, Math.max, Math.max].map((most, i) => most(...boxes.map((box) => box[i])));
  const near = outlines.map((points) => points.flatMap((to, i) => (i && isThrough(all, points[i - 1], to) ? [[points[i - 1], to]] : [])));
  const linesIn = (box) => near.filter((steps) => steps.some(([from, to]) => isThrough(box, from, to))).length;
  const costs = boxes.map((box, i) => MOST_LINES * taken.some((other) => overlap(box, other)) + linesIn(box) + i / boxes.length);
  return boxes[costs.indexOf(Math.min(...costs))];
}

// Whether a straight line runs through a box.
function isThrough(box, from, to) {
  let [low, high] = [0, 1];
  for (let i = 0; i < 2; i++) {
    const [p, q] = [from[i], to[i]];
    if (Math.max(p, q) <= box[i] || Math.min(p, q) >= box[i + 2]) return false;
    if (p === q) continue;
    const [first, last] = [(box[i] - p) / (q - p), (box[i + 2] - p) / (q - p)];
    low = Math.max(low, Math.min(first, last));
    high = Math.min(high, Math.max(first, last));
  }
  return low < high;
}
