/* The round: which nests to check on which day, from the file that the coordinator hands out. */

/** Rows of a round file, CSV or JSON; null where it names no nests. */
function readRound(text) {
  const body = text.replace(/^\ufeff/, "").trim();
  let rows;
  try {
    rows = /^[[{]/.test(body) ? rowsOfJson(JSON.parse(body)) : rowsOfCsv(body);
  } catch (problem) {
    return null;
  }
  const visits = rows.filter((row) => row && row.nest_id).map((row) => ({
    day: String(row.date ?? "").slice(0, 10),
    nest: cleaned(row.nest_id),
    observer: cleaned(row.observer),
    order: Number(row.order) || 0,
    reason: cleaned([row.reason, row.note].filter(Boolean).join("; ")),
    chance: row.p_emergence_by_next_visit === "" || row.p_emergence_by_next_visit === null
      ? NaN : Number(row.p_emergence_by_next_visit),
    longitude: degrees(row.longitude),
    latitude: degrees(row.latitude),
  }));
  visits.sort((a, b) => firstText(a.day, b.day) || firstText(a.observer, b.observer) || a.order - b.order);
  return visits.length ? visits : null;
}

/** A number of degrees; NaN where none is told. */
const degrees = (cell) => (cell === undefined || cell === null || String(cell).trim() === "" ? NaN : Number(cell));

/** A list of visits, or the first list of visits that an object holds. */
function rowsOfJson(found) {
  if (Array.isArray(found)) return found;
  return Object.values(found).find((part) => Array.isArray(part) && part.some((row) => row && row.nest_id)) || [];
}

/** Cells by the names of the first line; quotes hold commas, quotes and line ends (RFC 4180). */
function rowsOfCsv(text) {
  const separator = ["\t", ";", ","].find((sign) => text.split("\n", 1)[0].includes(sign)) || ",";
  const lines = [[""]];
  let isQuoted = false;
  for (let k = 0; k < text.length; k += 1) {
    const sign = text[k];
    const line = lines[lines.length - 1];
    if (isQuoted && sign === '"' && text[k + 1] === '"') line[line.length - 1] += text[(k += 1)];
    else if (sign === '"') isQuoted = !isQuoted;
    else if (!isQuoted && sign === separator) line.push("");
    else if (!isQuoted && sign === "\n") lines.push([""]);
    else if (isQuoted || sign !== "\r") line[line.length - 1] += sign;
  }
  const [names, ...rest] = lines;
  return rest.map((cells) => Object.fromEntries(names.map((name, k) => [name.trim(), cells[k] ?? ""])));
}
