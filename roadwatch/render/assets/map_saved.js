"use strict";

/* Saved results: fence runs as cased lines, signs as plates on posts, rounds as numbered stops joined by a line. */
function drawSaved(page) {
  var cards = seasonCards;

  page.season.saved.forEach(function (set, number) {
    var key = "saved_" + number, group = page.groups[key], stops = {};
    set.rings.forEach(function (_, i) {
      var row = set.row[i], facts = seasonData.factsOf(set.columns, row);
      function content() { return cards.card(set.names[row], [["From", set.name]].concat(facts)); }
      if (set.kind[i] === 0) { stops[row] = point(i, row, content); } else { line(i, row, content); }
    });
    set.joined.forEach(function (rows) {
      var way = rows.filter(function (row) { return stops[row]; }).map(function (row) { return stops[row]; });
      if (way.length > 1) {
        group.addLayer(L.polyline(way, { pane: "saved", color: set.colour, weight: 3, dashArray: "2 7", interactive: false }));
      }
    });

    function target(row, bounds, open) {
      page.targets[key + "-" + row] = { key: key, bounds: bounds, name: set.names[row], open: open };
    }

    function point(i, row, content) {
      var place = seasonData.unpack(set.rings[i][0])[0], name = set.names[row];
      var icon = set.labels.length ? cards.badge(set.labels[row], "stop", [24, 24], [12, 12]) : plate();
      var mark = L.marker(place, { icon: icon, title: name, alt: name, pane: "numbers" }).bindPopup(content, cards.CARD);
      group.addLayer(mark);
      target(row, mark.getLatLng().toBounds(400), function () { mark.openPopup(); });
      return place;
    }

    function plate() {
      var picture = cards.drawing("svg", { viewBox: "0 0 18 19" });
      picture.appendChild(cards.drawing("path", { d: set.outline, fill: set.colour, stroke: page.signs.ink, "stroke-width": 1.5 }));
      return L.divIcon({ html: picture, className: "plate", iconSize: [22, 24], iconAnchor: [11, 22] });
    }

    function line(i, row, content) {
      var bounds;
      [{ color: page.signs.ink, weight: 7 }, { color: set.colour, weight: 3.5, dashArray: "14 3" }].forEach(function (stroke) {
        var shape = cards.shapeLayer(set, i, { pane: "saved", opacity: 1, lineCap: "butt", fillOpacity: 0.1, ...stroke });
        shape.on("click", function (event) {
          page.clicked(event, function () { cards.openCard(page.map, content(), event.latlng); });
        });
        group.addLayer(shape);
        bounds = shape.getBounds();
      });
      target(row, bounds, function () { cards.openCard(page.map, content(), bounds.getCenter()); });
    }
  });
}
