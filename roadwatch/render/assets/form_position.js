/* Where the phone is, how far off that may be, and coordinates that people paste. */

const EARTH_RADIUS_M = 6371008.8;
const BEYOND_ROADS_DEG = 0.2;
const STILL_HERE_MS = 10000;

/** Metres between two places of longitude and latitude on the mean sphere. */
function distanceM(a, b) {
  const rad = Math.PI / 180;
  const dLat = (b.latitude - a.latitude) * rad;
  const dLon = (b.longitude - a.longitude) * rad;
  const h = Math.sin(dLat / 2) ** 2 + Math.cos(a.latitude * rad) * Math.cos(b.latitude * rad) * Math.sin(dLon / 2) ** 2;
  return 2 * EARTH_RADIUS_M * Math.asin(Math.min(1, Math.sqrt(h)));
}

const rounded = (value, digits) => Number(value.toFixed(digits));

/** Listens to the phone's receiver; tells each fix, or why there is none. A fix of just now counts for all who listen. */
class PositionWatch {
  static last = null;

  constructor(onFix, onProblem) {
    this.onFix = onFix;
    this.onProblem = onProblem;
    this.watch = null;
  }

  start() {
    if (!navigator.geolocation) {
      this.onProblem("position_none");
      return;
    }
    const {last} = PositionWatch;
    if (last && Date.now() - last.at < STILL_HERE_MS) this.onFix(last);
    this.watch = navigator.geolocation.watchPosition(
      (fix) => this.onFix((PositionWatch.last = readFix(fix))),
      (problem) => this.onProblem({1: "position_refused", 2: "position_unavailable", 3: "position_slow"}[problem.code]),
      {enableHighAccuracy: true, maximumAge: 2000, timeout: 60000});
  }

  stop() {
    if (this.watch !== null) navigator.geolocation.clearWatch(this.watch);
    this.watch = null;
  }
}

function readFix({coords, timestamp}) {
  return {
    longitude: rounded(coords.longitude, 6),
    latitude: rounded(coords.latitude, 6),
    position_error_m: Math.max(rounded(coords.accuracy, 1), 0.1),
    at: timestamp,
  };
}

/** Whether a place lies near the form's roads. */
function isInCounty({longitude, latitude}) {
  const [west, south, east, north] = DATA.map.bounds;
  return longitude >= west - BEYOND_ROADS_DEG && longitude <= east + BEYOND_ROADS_DEG
    && latitude >= south - BEYOND_ROADS_DEG && latitude <= north + BEYOND_ROADS_DEG;
}

/**
 * Read two decimal degrees as people copy them: latitude first or with N, S, E, W; the county tells which is which.
 * Returns the place, or null where no order of the two lies near the county's roads.
 */
function readPlace(text) {
  const written = String(text).toUpperCase().trim();
  const isBefore = /^[NSEW]/.test(written);
  const form = isBefore ? /([NSEW]?)\s*(-?\d{1,3}(?:\.\d+)?)/g : /(-?\d{1,3}(?:\.\d+)?)\s*°?\s*([NSEW]?)/g;
  const parts = [...written.matchAll(form)];
  if (parts.length !== 2) return null;
  const [first, second] = parts.map((part) => (isBefore ? {letter: part[1], value: Number(part[2])} : {letter: part[2], value: Number(part[1])}));
  const signed = ({letter, value}) => ("SW".includes(letter || "-") ? -Math.abs(value) : value);
  const isTurned = "EW".includes(first.letter || "-") || "NS".includes(second.letter || "-");
  const places = [
    {latitude: signed(first), longitude: signed(second)},
    {latitude: signed(second), longitude: signed(first)},
  ];
  return (isTurned ? places.slice(1) : places).find(isInCounty) || null;
}
