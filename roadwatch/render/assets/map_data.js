"use strict";

/* Reads the packed parts of the data block: whole numbers in base64, texts told once. */
var seasonData = (function () {
  function bytes(text) {
    var raw = atob(text), made = new Uint8Array(raw.length);
    for (var i = 0; i < raw.length; i += 1) { made[i] = raw.charCodeAt(i); }
    return made;
  }

  /* Seven bits a byte, lowest first; the eighth says that the number goes on; the lowest bit holds the sign. */
  function numbers(text, n) {
    var from = bytes(text), made = new Int32Array(n), place = 0;
    for (var i = 0; i < n; i += 1) {
      var value = 0, worth = 1, part;
      do {
        part = from[place];
        place += 1;
        value += (part & 127) * worth;
        worth *= 128;
      } while (part & 128);
      made[i] = value % 2 ? -(value + 1) / 2 : value / 2;
    }
    return made;
  }

  /* Each pair counts from the pair before, in steps of 0.00001 degree. */
  function places(text, n) {
    var steps = numbers(text, 2 * n), lon = new Float64Array(n), lat = new Float64Array(n), east = 0, north = 0;
    for (var i = 0; i < n; i += 1) {
      east += steps[2 * i];
      north += steps[2 * i + 1];
      lon[i] = east / 1e5;
      lat[i] = north / 1e5;
    }
    return { n: n, lon: lon, lat: lat };
  }

  function unpack(steps) {
    var found = [], lon = 0, lat = 0;
    for (var i = 0; i < steps.length; i += 2) {
      lon += steps[i];
      lat += steps[i + 1];
      found.push([lat / 1e5, lon / 1e5]);
    }
    return found;
  }

  /* A number: all rows alike. Blank: row i has text i. Else the bytes a row and the codes; 0 is no text. */
  function codes(packed, n) {
    if (typeof packed === "number") { return new Uint8Array(n).fill(packed); }
    if (packed === "") { return new Uint32Array(n).map(function (_, row) { return row + 1; }); }
    var raw = bytes(packed.slice(1)).buffer;
    return packed[0] === "1" ? new Uint8Array(raw) : packed[0] === "2" ? new Uint16Array(raw) : new Uint32Array(raw);
  }

  /* Every row has a sign: they are counted from 0. */
  function signs(packed, n) { return Uint8Array.from(codes(packed, n), function (code) { return code - 1; }); }

  function openColumns(columns, n) {
    columns.forEach(function (column) {
      column.codes = codes(column.codes, n);
      if (column.uuids) {
        column.uuids = bytes(column.uuids);
        column.texts = [];
      }
    });
  }

  function uuidOf(all, place) {
    var digits = Array.from(all.subarray(16 * place, 16 * place + 16), function (byte) { return (byte + 256).toString(16).slice(1); }).join("");
    return digits.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
  }

  function textOf(column, row) {
    var code = column.codes[row];
    if (!code) { return ""; }
    return column.uuids ? uuidOf(column.uuids, code - 1) : column.texts[code - 1];
  }

  function column(set, key) { return set.columns.find(function (one) { return one.key === key; }); }

  /* What is known of a row, as pairs of label and text. */
  function factsOf(columns, row) {
    return columns
      .filter(function (one) { return one.codes[row]; })
      .map(function (one) { return [one.label, textOf(one, row)]; });
  }

  function read() {
    var season = JSON.parse(document.getElementById("season-data").textContent);
    [season.crossings, season.nests].forEach(function (set) {
      openColumns(set.columns, set.n);
      set.sign = signs(set.sign, set.n);
      set.places = places(set.at, set.n);
      set.at = "";
    });
    season.answers.concat(season.saved).forEach(function (set) { openColumns(set.columns, set.names.length); });
    openColumns(season.measures.columns, season.measures.names.length);
    season.measures.sign = signs(season.measures.sign, season.measures.names.length);
    return season;
  }

  return { read: read, unpack: unpack, textOf: textOf, column: column, factsOf: factsOf };
}());
