"use strict";

/* Elements with text, and the cards that open on the map. Texts reach the page through textContent only. */
var seasonCards = (function () {
  var CARD = { minWidth: 240, maxWidth: 290, maxHeight: 330, autoPanPadding: [12, 12] };
  var SVG = "http://www.w3.org/2000/svg";

  function element(tag, text, className) {
    var made = document.createElement(tag);
    if (text) { made.textContent = text; }
    if (className) { made.className = className; }
    return made;
  }

  function drawing(tag, attributes, text) {
    var made = document.createElementNS(SVG, tag);
    Object.entries(attributes).forEach(function (entry) { made.setAttribute(entry[0], entry[1]); });
    if (text) { made.textContent = text; }
    return made;
  }

  function button(text, pressed) {
    var made = element("button", text);
    made.type = "button";
    made.addEventListener("click", pressed);
    return made;
  }

  function factList(facts) {
    var list = element("dl");
    facts.forEach(function (fact) {
      list.appendChild(element("dt", fact[0]));
      list.appendChild(element("dd", fact[1]));
    });
    return list;
  }

  function card(title, facts) {
    var made = element("div", "", "card");
    made.appendChild(element("h2", title));
    if (facts.length) { made.appendChild(factList(facts)); }
    return made;
  }

  function openCard(map, content, place) {
    L.popup(CARD).setLatLng(place).setContent(content).openOn(map);
  }

  function badge(text, className, size, anchor) {
    return L.divIcon({ html: element("span", text), className: "badge " + className, iconSize: size, iconAnchor: anchor });
  }

  function shapeLayer(shapes, i, style) {
    var rings = shapes.rings[i].map(seasonData.unpack);
    return shapes.kind[i] === 2 ? L.polygon(rings, style) : L.polyline(rings, style);
  }

  function say(text) { document.getElementById("said").textContent = text; }

  return {
    CARD: CARD, element: element, drawing: drawing, button: button, factList: factList, card: card, openCard: openCard,
    badge: badge, shapeLayer: shapeLayer, say: say
  };
}());
