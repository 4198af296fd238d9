/* How the map is drawn: water, roads with a casing, names where there is room, stops, the mark, the scale. */

function drawMap(map, pen, {width, height, ink}) {
  pen.fillStyle = ink("land");
  pen.fillRect(0, 0, width, height);
  pen.lineJoin = pen.lineCap = "round";
  pen.fillStyle = pen.strokeStyle = ink("water");
  LINES.areas.forEach((area) => { trace(map, pen, area); pen.fill(); });
  pen.lineWidth = 2;
  LINES.water.forEach((line) => { trace(map, pen, line); pen.stroke(); });
  const road = Math.min(9, Math.max(1.6, 14 / map.metresPerPx));
  for (const [colour, wide] of [[ink("casing"), road + 1.6], [ink("road"), road]]) {
    pen.strokeStyle = colour;
    pen.lineWidth = wide;
    for (const {lines} of LINES.roads) lines.forEach((line) => { trace(map, pen, line); pen.stroke(); });
  }
  drawNames(map, pen, {width, height, ink});
  drawStops(map, pen, ink);
  drawMark(map, pen, {width, height, ink});
  drawScale(map, pen, {height, ink});
}

function trace(map, pen, points) {
  pen.beginPath();
  points.forEach((point, k) => pen[k ? "lineTo" : "moveTo"](...map.pixelOf(point)));
}

/** Names along the roads, each once, where its letters keep clear of those that stand already. */
function drawNames(map, pen, {width, height, ink}) {
  if (map.metresPerPx > 30) return;
  pen.font = "600 13px system-ui, sans-serif";
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  const taken = [];
  for (const {name, lines} of LINES.roads) {
    const at = name && middleInView(map, lines, width, height);
    if (!at) continue;
    const half = pen.measureText(name).width / 2 + 6;
    const box = [at[0] - half, at[1] - 11, at[0] + half, at[1] + 11];
    if (box[0] < 0 || box[2] > width || taken.some((other) => meet(box, other))) continue;
    taken.push(box);
    pen.lineWidth = 4;
    pen.strokeStyle = ink("land");
    pen.strokeText(name, ...at);
    pen.fillStyle = ink("ink");
    pen.fillText(name, ...at);
  }
}

const meet = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];

/** The middle of the part of a road that is in view, null where none is. */
function middleInView(map, lines, width, height) {
  const inView = lines.flatMap((line) => line.map((point) => map.pixelOf(point)))
    .filter(([x, y]) => x > 30 && x < width - 30 && y > 14 && y < height - 34);
  return inView.length ? inView[Math.floor(inView.length / 2)] : null;
}

/** Stops of a round, each a ring with its number. */
function drawStops(map, pen, ink) {
  pen.font = "700 13px system-ui, sans-serif";
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.lineWidth = 2;
  for (const stop of map.stops) {
    const at = map.pixelOf([stop.longitude, stop.latitude]);
    pen.beginPath();
    pen.arc(...at, 12, 0, 2 * Math.PI);
    pen.fillStyle = ink("land");
    pen.fill();
    pen.strokeStyle = ink("ink");
    pen.stroke();
    pen.fillStyle = ink("ink");
    pen.fillText(stop.words, ...at);
  }
}

/** A ring as wide as the place may be off, with a pin; a cross in the middle for those who steer by keys. */
function drawMark(map, pen, {width, height, ink}) {
  pen.strokeStyle = ink("ink");
  pen.lineWidth = 1.5;
  pen.beginPath();
  for (const [x, y] of [[8, 0], [0, 8]]) {
    pen.moveTo(width / 2 - x, height / 2 - y);
    pen.lineTo(width / 2 + x, height / 2 + y);
  }
  pen.stroke();
  if (!map.mark) return;
  const [x, y] = map.pixelOf([map.mark.longitude, map.mark.latitude]);
  pen.strokeStyle = ink("mark");
  pen.lineWidth = 2;
  pen.beginPath();
  pen.arc(x, y, Math.max(10, (map.mark.position_error_m || 0) / map.metresPerPx), 0, 2 * Math.PI);
  pen.stroke();
  pen.fillStyle = ink("mark");
  pen.beginPath();
  pen.arc(x, y, 6, 0, 2 * Math.PI);
  pen.fill();
  pen.strokeStyle = ink("land");
  pen.stroke();
}

/** A bar of a round length, in metres or kilometres and in feet or miles. */
function drawScale(map, pen, {height, ink}) {
  const most = 110 * map.metresPerPx;
  const step = 10 ** Math.floor(Math.log10(most));
  const lengthM = [5, 2, 1].map((times) => times * step).find((length) => length <= most);
  const px = lengthM / map.metresPerPx;
  const feet = lengthM / 0.3048;
  const words = `${lengthM >= 1000 ? `${lengthM / 1000} km` : `${lengthM} m`} · ${feet >= 5280 ? `${(feet / 5280).toPrecision(2)} mi` : `${Math.round(feet)} ft`}`;
  pen.font = "600 12px system-ui, sans-serif";
  pen.textAlign = "left";
  pen.textBaseline = "alphabetic";
  pen.lineWidth = 4;
  pen.strokeStyle = ink("land");
  pen.strokeText(words, 12, height - 18);
  pen.fillStyle = ink("ink");
  pen.fillText(words, 12, height - 18);
  pen.fillRect(12, height - 12, px, 4);
}
