"use strict";

/* Crossings on one canvas: thousands of elements would make the page slow. */
var seasonRecords = (function () {
  function outline(context, shape, x, y, r) {
    context.beginPath();
    if (shape === "circle") {
      context.arc(x, y, r, 0, 2 * Math.PI);
    } else if (shape === "square") {
      context.rect(x - r * 0.9, y - r * 0.9, r * 1.8, r * 1.8);
    } else if (shape === "triangle") {
      context.moveTo(x, y - r * 1.15);
      context.lineTo(x + r * 1.15, y + r * 0.9);
      context.lineTo(x - r * 1.15, y + r * 0.9);
      context.closePath();
    } else {
      context.moveTo(x, y - r * 1.25);
      context.lineTo(x + r * 1.25, y);
      context.lineTo(x, y + r * 1.25);
      context.lineTo(x - r * 1.25, y);
      context.closePath();
    }
  }

  /* One small picture a sign, drawn once and copied for each record. */
  function stamp(sign, ink, ratio, radius) {
    var made = document.createElement("canvas");
    made.width = made.height = Math.ceil(18 * ratio);
    var context = made.getContext("2d");
    context.scale(ratio, ratio);
    outline(context, sign.shape, 9, 9, radius);
    context.fillStyle = sign.colour;
    context.strokeStyle = ink;
    context.lineWidth = radius < 5 ? 1 : 1.5;
    context.fill();
    context.stroke();
    return made;
  }

  /* The pixels of a sign that carry colour: steps from its corner in a picture of that width, and colours (A, B, G, R). */
  function pixels(picture, width) {
    var side = picture.width, raw = picture.getContext("2d").getImageData(0, 0, side, side);
    var all = new Uint32Array(raw.data.buffer), steps = [], colours = [];
    for (var i = 0; i < all.length; i += 1) {
      if (all[i] >>> 24) {
        steps.push(Math.floor(i / side) * width + i % side);
        colours.push(all[i]);
      }
    }
    return { side: side, steps: Int32Array.from(steps), colours: Uint32Array.from(colours) };
  }

  /* One colour over another, each with its own alpha. */
  function over(top, below) {
    var a = top >>> 24, kept = (below >>> 24) * (255 - a) / 255, sum = a + kept;
    function mixed(shift) { return Math.round(((top >>> shift & 255) * a + (below >>> shift & 255) * kept) / sum) << shift; }
    return (Math.round(sum) << 24 | mixed(16) | mixed(8) | mixed(0)) >>> 0;
  }

  /* Lays a sign into a picture; many thousands of these are far faster than as many calls of the browser's. */
  function lay(target, sign, corner) {
    var steps = sign.steps, colours = sign.colours;
    for (var k = 0; k < steps.length; k += 1) {
      var at = corner + steps[k], colour = colours[k], below = target[at];
      target[at] = below === 0 || colour >>> 24 === 255 ? colour : over(colour, below);
    }
  }

  /* Places on the map's square world of side 1 (spherical Mercator, as the map library draws it). */
  function project(places) {
    var x = new Float64Array(places.n), y = new Float64Array(places.n);
    for (var i = 0; i < places.n; i += 1) {
      var sine = Math.sin(places.lat[i] * Math.PI / 180);
      x[i] = places.lon[i] / 360 + 0.5;
      y[i] = 0.5 - Math.log((1 + sine) / (1 - sine)) / (4 * Math.PI);
    }
    return { x: x, y: y };
  }

  var RecordLayer = L.Layer.extend({
    initialize: function (records, signs) {
      this._records = records;
      this._signs = signs;
      this._world = project(records.places);
      this._shown = null;
    },
    onAdd: function (map) {
      this._canvas = L.DomUtil.create("canvas", "records leaflet-zoom-hide", map.getPane("records"));
      map.on("moveend zoomend resize viewreset", this._later, this);
      this._later();
    },
    onRemove: function (map) {
      map.off("moveend zoomend resize viewreset", this._later, this);
      L.Util.cancelAnimFrame(this._waiting);
      this._canvas.remove();
      this._canvas = null;
    },
    /* Draw only the rows whose place in the mask is 1; null draws all. */
    show: function (mask) {
      this._shown = mask;
      if (this._map) { this._later(); }
    },
    _later: function () {
      L.Util.cancelAnimFrame(this._waiting);
      this._waiting = L.Util.requestAnimFrame(this._draw, this);
    },
    /* What turns a place of the world into pixels of the map's window. */
    _frame: function () {
      var map = this._map, origin = map.getPixelOrigin(), at = map.layerPointToContainerPoint([0, 0]);
      return { scale: 256 * Math.pow(2, map.getZoom()), x: at.x - origin.x, y: at.y - origin.y };
    },
    _fit: function (whole, margin, ratio) {
      this._canvas.width = whole.x * ratio;
      this._canvas.height = whole.y * ratio;
      this._canvas.style.width = whole.x + "px";
      this._canvas.style.height = whole.y + "px";
      L.DomUtil.setPosition(this._canvas, this._map.containerPointToLayerPoint(margin.multiplyBy(-1)));
    },
    _draw: function () {
      if (!this._canvas) { return; }
      var map = this._map, size = map.getSize(), margin = size.multiplyBy(0.25).round();
      var whole = size.add(margin.multiplyBy(2)), ratio = window.devicePixelRatio || 1;
      this._fit(whole, margin, ratio);
      var context = this._canvas.getContext("2d"), ink = this._signs.ink, radius = map.getZoom() < 13 ? 3.5 : 5;
      var image = context.createImageData(this._canvas.width, this._canvas.height), target = new Uint32Array(image.data.buffer);
      var stamps = this._signs.crossings.map(function (sign) { return pixels(stamp(sign, ink, ratio, radius), image.width); });
      var frame = this._frame(), world = this._world, shown = this._shown, sign = this._records.sign;
      /* A second picture of the same sign on the same pixel would change nothing. */
      var wide = Math.ceil(whole.x) + 18, taken = new Uint8Array(wide * (Math.ceil(whole.y) + 18));
      for (var i = 0; i < world.x.length; i += 1) {
        if (shown && !shown[i]) { continue; }
        var x = world.x[i] * frame.scale + frame.x + margin.x, y = world.y[i] * frame.scale + frame.y + margin.y;
        if (x <= -9 || y <= -9 || x >= whole.x + 9 || y >= whole.y + 9) { continue; }
        var cell = ((y + 9) | 0) * wide + ((x + 9) | 0), bit = 1 << sign[i];
        if (taken[cell] & bit) { continue; }
        taken[cell] |= bit;
        var left = Math.round((x - 9) * ratio), upper = Math.round((y - 9) * ratio), side = stamps[sign[i]].side;
        if (left >= 0 && upper >= 0 && left + side <= image.width && upper + side <= image.height) {
          lay(target, stamps[sign[i]], upper * image.width + left);
        }
      }
      context.putImageData(image, 0, 0);
    },
    /* Rows that are drawn within reach of a point of the map's window, nearest first. */
    within: function (point, reach) {
      if (!this._map) { return []; }
      var found = [], frame = this._frame(), world = this._world;
      for (var i = 0; i < world.x.length; i += 1) {
        if (this._shown && !this._shown[i]) { continue; }
        var x = world.x[i] * frame.scale + frame.x - point.x, y = world.y[i] * frame.scale + frame.y - point.y;
        if (x * x + y * y <= reach * reach) { found.push({ row: i, away: x * x + y * y }); }
      }
      found.sort(function (a, b) { return a.away - b.away; });
      return found.map(function (hit) { return hit.row; });
    },
    place: function (row) { return [this._records.places.lat[row], this._records.places.lon[row]]; }
  });

  return { stamp: stamp, RecordLayer: RecordLayer };
}());
