/* The day's nests on the county's map, numbered as the round goes; where its file tells no places there is no map. */

const LEAST_VIEW_M = 400;

/** Visits whose place the round's file tells. */
const withPlace = (visits) => visits.filter((visit) => Number.isFinite(visit.longitude) && Number.isFinite(visit.latitude));

/** A button that opens the map of some visits; a tap on a number opens that nest's check. Null without places. */
function roundMap(visits, choose) {
  const placed = withPlace(visits);
  if (!placed.length) return null;
  const holder = make("div", {});
  const open = () => {
    const canvas = make("canvas", {tabindex: "0", role: "application", "aria-label": say("round_map_label"), class: "map"});
    holder.replaceChildren(make("p", {class: "hint"}, say("round_map_hint")), canvas);
    const map = new CountyMap(canvas, null, placed.map((visit) => ({
      longitude: visit.longitude, latitude: visit.latitude, words: String(visit.order || "•"),
      choose: () => choose(visit.nest, visit.nest),
    })));
    const zoom = (factor) => () => map.zoom(factor);
    holder.append(make("div", {class: "row"},
      make("button", {type: "button", onclick: zoom(0.5), "aria-label": say("map_in")}, "+"),
      make("button", {type: "button", onclick: zoom(2), "aria-label": say("map_out")}, "−")));
    map.showAll(placed, LEAST_VIEW_M);
    canvas.focus({preventScroll: true});
    canvas.scrollIntoView({block: "center"});
  };
  return make("div", {class: "stack"}, button("round_map", open), holder);
}
