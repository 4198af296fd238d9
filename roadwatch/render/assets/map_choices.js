"use strict";

/* Which rows meet the reader's choices: each text is asked once, then 100,000 rows are a loop over whole numbers. */
var seasonChoices = (function () {
  var LEAP_YEAR = 2024, DAY_MS = 86400000;

  /* Year and day of the year as in a leap year; noughts where the text does not begin with a date. */
  function dayOf(text) {
    var found = /^(\d{4})-(\d{2})-(\d{2})/.exec(text);
    if (!found) { return { year: 0, day: 0 }; }
    var day = (Date.UTC(LEAP_YEAR, Number(found[2]) - 1, Number(found[3])) - Date.UTC(LEAP_YEAR, 0, 0)) / DAY_MS;
    return { year: Number(found[1]), day: day };
  }

  function daysOf(set, key) {
    var column = seasonData.column(set, key), year = new Int16Array(set.n), day = new Int16Array(set.n);
    if (!column) { return { year: year, day: day }; }
    var known = column.texts.map(dayOf);
    for (var i = 0; i < set.n; i += 1) {
      if (column.codes[i]) {
        year[i] = known[column.codes[i] - 1].year;
        day[i] = known[column.codes[i] - 1].day;
      }
    }
    return { year: year, day: day };
  }

  /* For each text of a column whether it is wanted, no text first; null where everything is. */
  function wanted(set, key, ask, test) {
    if (!ask) { return null; }
    var column = seasonData.column(set, key), answer = new Uint8Array(column ? column.texts.length + 1 : 1);
    if (column) { column.texts.forEach(function (text, place) { answer[place + 1] = test(text, column, place) ? 1 : 0; }); }
    return { answer: answer, codes: column ? column.codes : new Uint8Array(set.n) };
  }

  function named(set, chosen) {
    var taxon = wanted(set, "taxon", chosen.taxon, function (text) { return chosen.within.has(text); });
    var sure = wanted(set, "id_confidence", chosen.sureness, function (_, column, place) {
      return column.percent[place] >= chosen.sureness;
    });
    return function (row) {
      return (!taxon || taxon.answer[taxon.codes[row]]) && (!sure || sure.answer[sure.codes[row]]);
    };
  }

  function within(day, chosen) { return day >= chosen.from && day <= chosen.to; }

  /* Crossings: returns what makes a mask of a choice, and how many had no day. */
  function ofCrossings(set) {
    var when = daysOf(set, seasonData.column(set, "observed_at") ? "observed_at" : "day");
    return function (chosen) {
      var mask = new Uint8Array(set.n), shown = 0, dayless = 0, fits = named(set, chosen);
      for (var i = 0; i < set.n; i += 1) {
        if (chosen.year && when.year[i] !== chosen.year) { continue; }
        if (chosen.condition >= 0 && set.sign[i] !== chosen.condition) { continue; }
        if (!fits(i)) { continue; }
        if (chosen.days && !when.day[i]) { dayless += 1; continue; }
        if (chosen.days && !within(when.day[i], chosen)) { continue; }
        mask[i] = 1;
        shown += 1;
      }
      return { mask: mask, shown: shown, dayless: dayless };
    };
  }

  /* Nests: found within the days, or with a window that overlaps them. A window that ends next year ends the season. */
  function ofNests(set) {
    var found = daysOf(set, "found_at"), early = daysOf(set, "window_early"), late = daysOf(set, "window_late");
    function open(row, chosen) {
      if (!early.day[row] || !late.day[row]) { return false; }
      var last = late.year[row] > early.year[row] ? 366 : late.day[row];
      return early.day[row] <= chosen.to && last >= chosen.from;
    }
    return function (chosen) {
      var mask = new Uint8Array(set.n), shown = 0, fits = named(set, chosen);
      for (var i = 0; i < set.n; i += 1) {
        if (chosen.year && found.year[i] !== chosen.year) { continue; }
        if (!fits(i) || (chosen.days && !within(found.day[i], chosen) && !open(i, chosen))) { continue; }
        mask[i] = 1;
        shown += 1;
      }
      return { mask: mask, shown: shown };
    };
  }

  function key(date) { return date.year * 1000 + date.day; }

  /* Measures: built by the last day chosen, and not taken away before the first. */
  function ofMeasures(set, years) {
    var n = set.names.length, rows = { n: n, columns: set.columns };
    var built = daysOf(rows, "built_on"), removed = daysOf(rows, "removed_on");
    return function (chosen) {
      var mask = new Uint8Array(n), shown = 0, ask = chosen.year || chosen.days;
      var first = key({ year: chosen.year || years[0] || 0, day: chosen.from });
      var last = key({ year: chosen.year || years[years.length - 1] || 9999, day: chosen.to });
      for (var i = 0; i < n; i += 1) {
        var from = key({ year: built.year[i], day: built.day[i] }), to = key({ year: removed.year[i], day: removed.day[i] });
        if (ask && (from > last || (to && to < first))) { continue; }
        mask[i] = 1;
        shown += 1;
      }
      return { mask: mask, shown: shown };
    };
  }

  return { dayOf: dayOf, ofCrossings: ofCrossings, ofNests: ofNests, ofMeasures: ofMeasures };
}());
