"use strict";

/* The panel beside the map with everything about one hotspot. Escape closes it, and focus goes back where it came from. */
var seasonPanel = (function () {
  var NO_CURVE = "No curve along the road can be shown for this hotspot on this page.";
  var opener = null;

  function panel() { return document.getElementById("panel"); }

  function close() {
    if (panel().hidden) { return; }
    panel().hidden = true;
    panel().replaceChildren();
    if (opener && opener.isConnected) { opener.focus({ preventScroll: true }); } else { document.querySelector(".folium-map").focus({ preventScroll: true }); }
    opener = null;
  }

  /* content: title, facts, remark, curve or null. */
  function open(content, from) {
    var made = seasonCards.element, title = made("h2", content.title);
    var shut = seasonCards.button("Close", close);
    opener = from || document.activeElement;
    title.id = "panel-title";
    panel().replaceChildren(shut, title);
    if (content.remark) { panel().appendChild(made("p", content.remark, "remark")); }
    panel().appendChild(seasonCards.factList(content.facts));
    if (content.curve) {
      seasonCurve.pieces(content.curve, content.title).forEach(function (piece) { panel().appendChild(piece); });
    } else {
      panel().appendChild(made("p", NO_CURVE, "note"));
    }
    panel().hidden = false;
    panel().scrollTop = 0;
    panel().focus({ preventScroll: window.innerWidth >= 700 });
  }

  document.addEventListener("keydown", function (event) {
    if (event.key === "Escape") { close(); }
  });

  return { open: open, close: close };
}());
