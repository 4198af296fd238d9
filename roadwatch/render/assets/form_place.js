/* The place of a record: from the phone with its error, from a tap on the map, or from pasted coordinates. */

const COARSE_M = 50;

/** Writes longitude, latitude and position_error_m into values; the phone's best fix counts until a person chooses. */
function placePart(values) {
  const hasPlace = values.longitude !== undefined;
  const words = make("p", {class: "reading", role: "status"});
  const problem = make("div", {});
  const other = make("div", {});
  let isOwnChoice = hasPlace;
  const show = () => fillReading(words, values);
  const set = (place, own) => {
    isOwnChoice = own;
    Object.assign(values, {longitude: place.longitude, latitude: place.latitude, position_error_m: place.position_error_m ?? ""});
    keepDraft();
    show();
  };
  const watch = new PositionWatch((fix) => {
    problem.replaceChildren();
    const isBetter = values.longitude === undefined || fix.position_error_m <= values.position_error_m;
    if (!isOwnChoice && isBetter) set(fix, false);
  }, (key) => {
    if (values.longitude === undefined) problem.replaceChildren(caution(say(key)), make("p", {}, say("position_otherwise")));
  });
  atScreenEnd(() => watch.stop());
  watch.start();
  show();
  const anew = () => {
    for (const name of ["longitude", "latitude", "position_error_m"]) delete values[name];
    isOwnChoice = false;
    other.replaceChildren();
    show();
    watch.stop();
    watch.start();
  };
  const byMap = () => openMap(other, values, (place) => set(place, true));
  const byText = () => openPasted(other, (place) => set(place, true));
  return part("part_place", words, problem,
    make("div", {class: "row"}, button("place_anew", anew), button("place_map", byMap), button("place_paste", byText)), other);
}

function fillReading(words, values) {
  if (values.longitude === undefined) {
    words.replaceChildren(make("span", {class: "waiting"}, say("place_waiting")));
    return;
  }
  const error = values.position_error_m === "" ? say("place_no_error", {m: DATA.usual_position_error_m}) : say("place_error", {m: Math.ceil(values.position_error_m)});
  const road = nearestRoad(values);
  const lines = [make("strong", {}, `${values.latitude.toFixed(5)}, ${values.longitude.toFixed(5)}`), make("span", {}, error),
    make("span", {}, say(road.name ? "place_road" : "place_road_unnamed", {road: road.name, m: Math.round(road.away)}))];
  if (!isInCounty(values)) lines.push(make("span", {class: "fault"}, say("place_outside")));
  else if (values.position_error_m > COARSE_M) lines.push(make("span", {class: "fault"}, say("place_coarse")));
  words.replaceChildren(...lines);
}

/** The road whose drawn line comes nearest, and how many metres away it is. */
function nearestRoad({longitude, latitude}) {
  let best = {name: "", away: Infinity};
  for (const {name, lines} of LINES.roads) {
    for (const line of lines) {
      for (let k = 1; k < line.length; k += 1) {
        const away = offLineM([longitude, latitude], line[k - 1], line[k]);
        if (away < best.away) best = {name, away};
      }
    }
  }
  return best;
}

function openMap(holder, values, onMark) {
  const canvas = make("canvas", {tabindex: "0", role: "application", "aria-label": say("map_label"), class: "map"});
  holder.replaceChildren(make("p", {class: "hint"}, say("map_hint")), canvas);
  const map = new CountyMap(canvas, onMark);
  const zoom = (factor) => () => map.zoom(factor);
  holder.append(make("div", {class: "row"},
    make("button", {type: "button", onclick: zoom(0.5), "aria-label": say("map_in")}, "+"),
    make("button", {type: "button", onclick: zoom(2), "aria-label": say("map_out")}, "−"),
    button("map_middle", () => map.markMiddle())));
  if (values.longitude !== undefined) map.show(values);
  else map.draw();
  canvas.focus({preventScroll: true});
  canvas.scrollIntoView({block: "center"});
}

function openPasted(holder, onPlace) {
  const fault = make("p", {class: "fault", role: "alert"});
  const input = make("input", {type: "text", autocomplete: "off", inputmode: "text", placeholder: "31.70012, -81.90023"});
  const take = () => {
    const place = readPlace(input.value);
    fault.textContent = place ? "" : say("paste_fault");
    if (place) onPlace(place);
  };
  holder.replaceChildren(withLabel("pasted", input, {hint: say("paste_hint")}), fault, button("paste_take", take));
  input.focus();
}
