"use strict";

/* The curve along the road at a hotspot: a picture with its words, and the same numbers as a table. */
var seasonCurve = (function () {
  var WIDE = 340, HIGH = 190, LEFT = 40, RIGHT = 8, TOP = 10, BOTTOM = 34;
  var INK = "#1d2a2b", QUIET = "#55615f";

  function top(curve) {
    var all = curve.density.concat(curve.expected, curve.high).filter(function (value) { return value !== null; });
    return Math.max.apply(null, all.concat(1e-9));
  }

  /* A round step that leaves three to six marks. */
  function stepOf(span) {
    var step = Math.pow(10, Math.floor(Math.log10(span)));
    return [0.2, 0.5, 1].map(function (part) { return part * step; }).find(function (one) { return span / one <= 6; }) || 2 * step;
  }

  function marks(from, to) {
    var step = stepOf(to - from), found = [];
    for (var at = Math.ceil(from / step); at * step <= to + step * 1e-9; at += 1) { found.push(Number((at * step).toPrecision(12))); }
    return found;
  }

  /* Runs of stretches where both are known: a line is never drawn over what is not known. */
  function runs(one, other) {
    var found = [], open = null;
    one.forEach(function (value, i) {
      var known = value !== null && other[i] !== null;
      if (known && !open) { found.push(open = []); }
      if (!known) { open = null; } else { open.push(i); }
    });
    return found;
  }

  function scales(curve) {
    var first = Math.min(curve.at[0], curve.from), last = Math.max(curve.at[curve.at.length - 1], curve.to);
    var most = top(curve) * 1.05;
    return {
      first: first, last: last, most: most,
      x: function (metre) { return LEFT + (metre - first) / Math.max(last - first, 1) * (WIDE - LEFT - RIGHT); },
      y: function (value) { return HIGH - BOTTOM - value / most * (HIGH - BOTTOM - TOP); }
    };
  }

  function path(scale, curve, rows, values) {
    return rows.map(function (i) { return scale.x(curve.at[i]).toFixed(1) + " " + scale.y(values[i]).toFixed(1); });
  }

  function lines(picture, scale, curve, values, style) {
    runs(values, values).forEach(function (rows) {
      picture.appendChild(seasonCards.drawing("path", { d: "M" + path(scale, curve, rows, values).join("L"), fill: "none", ...style }));
    });
  }

  function axes(picture, scale) {
    var draw = seasonCards.drawing, words = { fill: QUIET, "font-size": 10, "font-family": "sans-serif" };
    marks(scale.first, scale.last).forEach(function (metre) {
      var x = scale.x(metre).toFixed(1);
      picture.appendChild(draw("path", { d: "M" + x + " " + (HIGH - BOTTOM) + "v4", stroke: QUIET }));
      picture.appendChild(draw("text", { x: x, y: HIGH - BOTTOM + 15, "text-anchor": "middle", ...words }, String(metre / 1000)));
    });
    marks(0, scale.most).forEach(function (value) {
      var y = scale.y(value);
      picture.appendChild(draw("path", { d: "M" + LEFT + " " + y.toFixed(1) + "H" + (WIDE - RIGHT), stroke: "#d8d1bf" }));
      picture.appendChild(draw("text", { x: LEFT - 5, y: (y + 3.5).toFixed(1), "text-anchor": "end", ...words }, String(value)));
    });
    picture.appendChild(draw("text", { x: WIDE - RIGHT, y: HIGH - 4, "text-anchor": "end", ...words }, "km along the road"));
    picture.appendChild(draw("text", { x: 2, y: HIGH - 4, ...words }, "records per km"));
  }

  function draw(curve, name) {
    var made = seasonCards.drawing, scale = scales(curve);
    var picture = made("svg", { viewBox: "0 0 " + WIDE + " " + HIGH, role: "img", "aria-labelledby": "curve-title curve-words", "class": "curve" });
    picture.appendChild(made("title", { id: "curve-title" }, "Records along " + curve.road));
    picture.appendChild(made("desc", { id: "curve-words" }, words(curve, name)));
    picture.appendChild(made("rect", {
      x: scale.x(curve.from).toFixed(1), y: TOP, width: Math.max(scale.x(curve.to) - scale.x(curve.from), 1).toFixed(1),
      height: HIGH - TOP - BOTTOM, fill: "#fee838", "fill-opacity": 0.45
    }));
    axes(picture, scale);
    runs(curve.low, curve.high).forEach(function (rows) {
      var upper = path(scale, curve, rows, curve.high), lower = path(scale, curve, rows, curve.low).reverse();
      picture.appendChild(made("path", { d: "M" + upper.concat(lower).join("L") + "Z", fill: "#7c7b78", "fill-opacity": 0.35 }));
    });
    lines(picture, scale, curve, curve.expected, { stroke: INK, "stroke-width": 1.5, "stroke-dasharray": "5 4" });
    lines(picture, scale, curve, curve.density, { stroke: "#00224e", "stroke-width": 2.5 });
    return picture;
  }

  function words(curve, name) {
    var inside = curve.at.map(function (_, i) { return i; })
      .filter(function (i) { return curve.at[i] >= curve.from && curve.at[i] <= curve.to && curve.density[i] !== null; });
    if (!inside.length) { return name + " lies between " + curve.from + " and " + curve.to + " m."; }
    var peak = inside.reduce(function (best, i) { return curve.density[i] > curve.density[best] ? i : best; });
    var there = curve.expected[peak] === null ? "nothing can be expected: never searched" : curve.expected[peak] + " expected";
    return name + ": the density is highest at " + curve.at[peak] + " m, " + curve.density[peak] + " records per km, with " +
      there + (curve.high[peak] === null ? "." : "; the band of chance reaches from " + curve.low[peak] + " to " + curve.high[peak] + ".");
  }

  function key() {
    return seasonCards.element("p",
      "Thick line: records, spread along the road. Broken line: expected. Grey band: where 95 % of the re-scattered records lie at " +
      "each place by itself. Yellow: the hotspot.", "note");
  }

  function cell(value) { return value === null ? "not known" : String(value); }

  function table(curve) {
    var box = seasonCards.element("details"), wide = seasonCards.element("div", "", "wide"), made = seasonCards.element("table");
    box.appendChild(seasonCards.element("summary", "The curve as numbers"));
    var head = seasonCards.element("tr");
    ["Metre", "Records per km", "Expected", "Band from", "Band to"].forEach(function (text) {
      var top = seasonCards.element("th", text);
      top.scope = "col";
      head.appendChild(top);
    });
    made.appendChild(seasonCards.element("thead")).appendChild(head);
    var body = made.appendChild(seasonCards.element("tbody"));
    curve.at.forEach(function (metre, i) {
      var row = body.appendChild(seasonCards.element("tr")), first = row.appendChild(seasonCards.element("th", String(metre)));
      first.scope = "row";
      [curve.density, curve.expected, curve.low, curve.high].forEach(function (values) {
        row.appendChild(seasonCards.element("td", cell(values[i])));
      });
    });
    wide.tabIndex = 0;
    wide.setAttribute("role", "region");
    wide.setAttribute("aria-label", "The curve as numbers");
    wide.appendChild(made);
    box.appendChild(wide);
    return box;
  }

  /* Everything to be shown of one curve. */
  function pieces(curve, name) {
    var spread = "Each record is spread over " + curve.half + " m to either side; the band is from " + curve.draws + " re-scatterings.";
    return [draw(curve, name), key(), seasonCards.element("p", spread, "note"), table(curve)];
  }

  return { pieces: pieces, words: words };
}());
