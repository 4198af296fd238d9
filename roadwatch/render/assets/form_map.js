/* The county's roads on a canvas of our own: pan, zoom, names, a scale, and a place to mark. */

const DEGREE_M = (Math.PI / 180) * EARTH_RADIUS_M;
const FINGER_PX = 24;
const NEAREST_M_PER_PX = 0.4;
const LARGEST_SHIFT = 0.25;

/** Places of a line that was told as whole numbers, each counting from the one before. */
function unfolded(numbers) {
  const points = [];
  let [x, y] = [0, 0];
  for (let k = 0; k < numbers.length; k += 2) {
    x += numbers[k];
    y += numbers[k + 1];
    points.push([x / 100000, y / 100000]);
  }
  return points;
}

const LINES = {
  roads: DATA.map.roads.map(({name, lines}) => ({name, lines: lines.map(unfolded)})),
  water: DATA.map.water.lines.map(unfolded),
  areas: DATA.map.water.areas.map(unfolded),
};

class CountyMap {
  /** onMark gets {longitude, latitude, position_error_m} of a tap, or of the middle by the keyboard; stops are tapped instead. */
  constructor(canvas, onMark, stops = []) {
    this.canvas = canvas;
    this.onMark = onMark;
    this.stops = stops;
    this.mark = null;
    const [west, south, east, north] = DATA.map.bounds;
    this.centre = [(west + east) / 2, (south + north) / 2];
    this.narrow = Math.cos((this.centre[1] * Math.PI) / 180);
    this.fit(Math.max((east - west) * this.narrow, north - south) * DEGREE_M);
    this.listen();
  }

  fit(widthM) {
    const box = this.canvas.getBoundingClientRect();
    this.farthest = Math.max(widthM, 1000) / Math.max(Math.min(box.width, box.height), 100);
    this.metresPerPx = this.farthest;
  }

  show(place, {mark = true, metresPerPx = 4} = {}) {
    this.centre = [place.longitude, place.latitude];
    this.metresPerPx = Math.min(this.metresPerPx, metresPerPx);
    if (mark) this.mark = place;
    this.draw();
  }

  /** All of some places with room around them, not nearer than a view of so many metres. */
  showAll(places, leastM) {
    const [x, y] = [places.map((place) => place.longitude), places.map((place) => place.latitude)];
    const [west, east, south, north] = [Math.min(...x), Math.max(...x), Math.min(...y), Math.max(...y)];
    this.centre = [(west + east) / 2, (south + north) / 2];
    const across = Math.max(((east - west) * this.narrow * DEGREE_M) / this.canvas.clientWidth, ((north - south) * DEGREE_M) / this.canvas.clientHeight);
    this.metresPerPx = Math.max(across * 1.3, leastM / this.canvas.clientWidth);
    this.draw();
  }

  zoom(factor) {
    this.metresPerPx = Math.min(this.farthest * 1.5, Math.max(NEAREST_M_PER_PX, this.metresPerPx * factor));
    this.draw();
  }

  pan(dx, dy) {
    this.centre = this.placeAt(this.canvas.clientWidth / 2 + dx, this.canvas.clientHeight / 2 + dy);
    this.draw();
  }

  placeAt(x, y) {
    const scale = this.metresPerPx / DEGREE_M;
    return [
      this.centre[0] + ((x - this.canvas.clientWidth / 2) * scale) / this.narrow,
      this.centre[1] - (y - this.canvas.clientHeight / 2) * scale,
    ];
  }

  pixelOf([longitude, latitude]) {
    const scale = DEGREE_M / this.metresPerPx;
    return [
      this.canvas.clientWidth / 2 + (longitude - this.centre[0]) * this.narrow * scale,
      this.canvas.clientHeight / 2 - (latitude - this.centre[1]) * scale,
    ];
  }

  /** The stop under a finger is chosen: the nearest of those it touches. */
  chooseStop(x, y) {
    const away = (stop) => { const [px, py] = this.pixelOf([stop.longitude, stop.latitude]); return Math.hypot(px - x, py - y); };
    const [nearest] = [...this.stops].sort((a, b) => away(a) - away(b));
    if (nearest && away(nearest) <= FINGER_PX) nearest.choose();
  }

  /** A finger is half as wide as a button: that is how far off a tap may be, at least. */
  markAt(x, y) {
    if (!this.onMark) { this.chooseStop(x, y); return; }
    const [longitude, latitude] = this.placeAt(x, y);
    const place = {
      longitude: rounded(longitude, 6),
      latitude: rounded(latitude, 6),
      position_error_m: Math.max(10, Math.round(FINGER_PX * this.metresPerPx)),
    };
    this.mark = place;
    this.draw();
    this.onMark(place);
  }

  markMiddle() {
    this.markAt(this.canvas.clientWidth / 2, this.canvas.clientHeight / 2);
  }

  listen() {
    let from = null;
    let moved = 0;
    this.canvas.addEventListener("pointerdown", (event) => {
      from = [event.offsetX, event.offsetY];
      moved = 0;
      this.canvas.setPointerCapture(event.pointerId);
    });
    this.canvas.addEventListener("pointermove", (event) => {
      if (!from) return;
      const [dx, dy] = [from[0] - event.offsetX, from[1] - event.offsetY];
      moved += Math.abs(dx) + Math.abs(dy);
      if (moved > 8) this.pan(dx, dy);
      from = [event.offsetX, event.offsetY];
    });
    this.canvas.addEventListener("pointerup", (event) => {
      if (from && moved <= 8) this.markAt(event.offsetX, event.offsetY);
      from = null;
    });
    this.canvas.addEventListener("pointercancel", () => { from = null; });
    this.canvas.addEventListener("keydown", (event) => this.onKey(event));
  }

  onKey(event) {
    const [x, y] = [this.canvas.clientWidth * LARGEST_SHIFT, this.canvas.clientHeight * LARGEST_SHIFT];
    const acts = {
      ArrowLeft: () => this.pan(-x, 0), ArrowRight: () => this.pan(x, 0),
      ArrowUp: () => this.pan(0, -y), ArrowDown: () => this.pan(0, y),
      "+": () => this.zoom(0.5), "=": () => this.zoom(0.5), "-": () => this.zoom(2), Enter: () => this.markMiddle(),
    };
    if (!acts[event.key]) return;
    event.preventDefault();
    acts[event.key]();
  }

  draw() {
    const ratio = window.devicePixelRatio || 1;
    const [width, height] = [this.canvas.clientWidth, this.canvas.clientHeight];
    this.canvas.width = width * ratio;
    this.canvas.height = height * ratio;
    const pen = this.canvas.getContext("2d");
    pen.scale(ratio, ratio);
    const ink = (name) => getComputedStyle(this.canvas).getPropertyValue(`--map-${name}`).trim();
    drawMap(this, pen, {width, height, ink});
  }
}
