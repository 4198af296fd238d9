"use strict";
document.documentElement.classList.add("live");

/* Crossings on one canvas, and how places are unpacked from the data block. */
var seasonRecords = (function () {
  function unpack(steps) {
    var places = [], lon = 0, lat = 0;
    for (var i = 0; i < steps.length; i += 2) {
      lon += steps[i];
      lat += steps[i + 1];
      places.push([lat / 1e5, lon / 1e5]);
    }
    return places;
  }

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

  /* All crossings on one canvas: thousands of elements would make the page slow. */
  var RecordLayer = L.Layer.extend({
    initialize: function (records, signs) {
      this._records = records;
      this._signs = signs;
      this._places = unpack(records.at);
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
    _later: function () {
      L.Util.cancelAnimFrame(this._waiting);
      this._waiting = L.Util.requestAnimFrame(this._draw, this);
    },
    _draw: function () {
      if (!this._canvas) { return; }
      var map = this._map, size = map.getSize(), margin = size.multiplyBy(0.25).round();
      var whole = size.add(margin.multiplyBy(2)), ratio = window.devicePixelRatio || 1;
      this._canvas.width = whole.x * ratio;
      this._canvas.height = whole.y * ratio;
      this._canvas.style.width = whole.x + "px";
      this._canvas.style.height = whole.y + "px";
      L.DomUtil.setPosition(this._canvas, map.containerPointToLayerPoint(margin.multiplyBy(-1)));
      var context = this._canvas.getContext("2d"), ink = this._signs.ink;
      var radius = map.getZoom() < 13 ? 3.5 : 5;
      var stamps = this._signs.crossings.map(function (sign) { return stamp(sign, ink, ratio, radius); });
      for (var i = 0; i < this._places.length; i += 1) {
        var at = map.latLngToContainerPoint(this._places[i]).add(margin);
        if (at.x > -9 && at.y > -9 && at.x < whole.x + 9 && at.y < whole.y + 9) {
          var picture = stamps[this._records.sign[i]];
          context.drawImage(picture, (at.x - 9) * ratio, (at.y - 9) * ratio);
        }
      }
    },
    within: function (point, reach) {
      if (!this._map) { return []; }
      var found = [];
      for (var i = 0; i < this._places.length; i += 1) {
        var away = this._map.latLngToContainerPoint(this._places[i]).distanceTo(point);
        if (away <= reach) { found.push({ row: i, away: away }); }
      }
      found.sort(function (a, b) { return a.away - b.away; });
      return found.map(function (hit) { return hit.row; });
    },
    place: function (row) { return this._places[row]; }
  });

  return { unpack: unpack, stamp: stamp, RecordLayer: RecordLayer };
}());
