/* The way of a search: fixes in a row, cut where the page was dark, thinned to what tells the road, as WKT. */

const WORST_FIX_M = 50;
const LEAST_STEP_M = 5;
const LONGEST_GAP_MS = 60000;
const LARGEST_GAP_M = 200;
const FASTEST_M_S = 60;  // 216 km/h: no search is made at it, a jump of the receiver is
const FIRST_TOLERANCE_M = 3;
const LONGEST_TEXT = 30000;  // a cell of a workbook holds 32,767 signs

/** Add a fix to the parts of a track; a coarse one, or one on the same spot, changes nothing. */
function addFix(parts, fix) {
  if (fix.position_error_m > WORST_FIX_M) return parts;
  const point = [fix.longitude, fix.latitude, fix.at];
  const part = parts[parts.length - 1];
  const last = part?.[part.length - 1];
  if (!last) return [...parts.slice(0, -1), [point]];
  if (isJump(last, point)) return afterJump(parts, fix, point);
  const stepM = distanceM(asPlace(last), asPlace(point));
  if (point[2] - last[2] > LONGEST_GAP_MS && stepM > LARGEST_GAP_M) return [...parts, [point]];
  if (stepM < Math.max(LEAST_STEP_M, fix.position_error_m / 2)) return parts;
  part.push(point);
  return parts;
}

/** Whether nobody can have come from one point to the other in the time between them. */
function isJump(from, to) {
  return distanceM(asPlace(from), asPlace(to)) > FASTEST_M_S * Math.max(1, (to[2] - from[2]) / 1000);
}

/** A jump begins a part of its own; back where the way broke off, the point in between was the receiver's slip. */
function afterJump(parts, fix, point) {
  const [before, alone] = parts.slice(-2);
  const isBack = alone?.length === 1 && !isJump(before[before.length - 1], point);
  return isBack ? addFix(parts.slice(0, -1), fix) : [...parts, [point]];
}

const asPlace = ([longitude, latitude]) => ({longitude, latitude});

/** Kilometres along the parts; the gaps between them do not count. */
function trackKm(parts) {
  const ofPart = (part) => part.slice(1).reduce((sum, point, k) => sum + distanceM(asPlace(part[k]), asPlace(point)), 0);
  return parts.reduce((sum, part) => sum + ofPart(part), 0) / 1000;
}

/** The track as WKT; blank where it is no line. Bends finer than 3 m go, more only where the text grew too long. */
function trackText(parts) {
  const lines = parts.filter((part) => part.length > 1);
  if (!lines.length) return "";
  for (let toleranceM = FIRST_TOLERANCE_M; ; toleranceM *= 2) {
    const texts = lines.map((line) => `(${thinned(line, toleranceM).map(([x, y]) => `${x} ${y}`).join(", ")})`);
    const text = texts.length > 1 ? `MULTILINESTRING (${texts.join(", ")})` : `LINESTRING ${texts[0]}`;
    if (text.length <= LONGEST_TEXT) return text;
  }
}

/** Leave out what lies within a tolerance of the line (Ramer, Douglas and Peucker's method), without recursion. */
function thinned(points, toleranceM) {
  const keep = new Set([0, points.length - 1]);
  const open = [[0, points.length - 1]];
  while (open.length) {
    const [from, to] = open.pop();
    let farthest = 0;
    let at = -1;
    for (let k = from + 1; k < to; k += 1) {
      const away = offLineM(points[k], points[from], points[to]);
      if (away > farthest) [farthest, at] = [away, k];
    }
    if (farthest <= toleranceM) continue;
    keep.add(at);
    open.push([from, at], [at, to]);
  }
  return points.filter((_, k) => keep.has(k));
}

/** Metres of a point from a short line, on the flat. */
function offLineM(point, start, end) {
  const metre = (Math.PI / 180) * EARTH_RADIUS_M;
  const width = metre * Math.cos((start[1] * Math.PI) / 180);
  const [x, y] = [(point[0] - start[0]) * width, (point[1] - start[1]) * metre];
  const [ex, ey] = [(end[0] - start[0]) * width, (end[1] - start[1]) * metre];
  const length = ex * ex + ey * ey;
  const along = length ? Math.min(1, Math.max(0, (x * ex + y * ey) / length)) : 0;
  return Math.hypot(x - along * ex, y - along * ey);
}
