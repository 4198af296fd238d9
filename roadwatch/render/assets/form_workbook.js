/* Records as one workbook (ECMA-376) with a sheet for each kind: texts stay texts, so no cell is ever a formula. */

const KINDS = Object.keys(DATA.columns);
const XML_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n';
const SHEETS_NAME = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
const RELATIONS_NAME = "http://schemas.openxmlformats.org/package/2006/relationships";
const OFFICE_NAME = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";

/** The rows of one kind under the canonical names, seen_ columns of the marks behind them. */
function rowsToExport(records, kind) {
  const own = records.filter((record) => record.kind === kind);
  const seen = [...new Set(own.flatMap((record) => Object.keys(record.seen || {})))].sort();
  const head = [...DATA.columns[kind], ...seen.map((key) => `seen_${key}`)];
  const rows = own.map((record) => [
    ...DATA.columns[kind].map((name) => record.values[name] ?? ""),
    ...seen.map((key) => record.seen?.[key] ?? ""),
  ]);
  return {head, rows};
}

/** A workbook of records as a Blob. */
function workbookOf(records) {
  const kinds = KINDS.filter((kind) => records.some((record) => record.kind === kind));
  const parts = kinds.map((_, k) => `xl/worksheets/sheet${k + 1}.xml`);
  const type = "application/vnd.openxmlformats-officedocument.spreadsheetml";
  const texts = {
    "[Content_Types].xml": `${XML_HEAD}<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">`
      + '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
      + `<Override PartName="/xl/workbook.xml" ContentType="${type}.sheet.main+xml"/>`
      + `${parts.map((part) => `<Override PartName="/${part}" ContentType="${type}.worksheet+xml"/>`).join("")}</Types>`,
    "_rels/.rels": relations([["officeDocument", "xl/workbook.xml"]]),
    "xl/workbook.xml": `${XML_HEAD}<workbook xmlns="${SHEETS_NAME}" xmlns:r="${OFFICE_NAME}"><sheets>`
      + `${kinds.map((kind, k) => `<sheet name="${kind}" sheetId="${k + 1}" r:id="r${k + 1}"/>`).join("")}</sheets></workbook>`,
    "xl/_rels/workbook.xml.rels": relations(parts.map((part) => ["worksheet", part.replace("xl/", "")])),
  };
  kinds.forEach((kind, k) => { texts[parts[k]] = sheetText(rowsToExport(records, kind)); });
  return archiveOf(texts);
}

function relations(targets) {
  const lines = targets.map(([kind, target], k) => `<Relationship Id="r${k + 1}" Type="${OFFICE_NAME}/${kind}" Target="${target}"/>`);
  return `${XML_HEAD}<Relationships xmlns="${RELATIONS_NAME}">${lines.join("")}</Relationships>`;
}

function sheetText({head, rows}) {
  const lines = [head, ...rows].map((cells, k) => `<row r="${k + 1}">${cells.map(cellText).join("")}</row>`);
  return `${XML_HEAD}<worksheet xmlns="${SHEETS_NAME}"><sheetData>${lines.join("")}</sheetData></worksheet>`;
}

function cellText(value) {
  if (value === "" || value === null) return "<c/>";
  if (typeof value === "number") return `<c><v>${value}</v></c>`;
  return `<c t="inlineStr"><is><t xml:space="preserve">${xmlText(String(value))}</t></is></c>`;
}

/** Text inside an element of a workbook; what would read as one of its own escapes is escaped itself. */
function xmlText(text) {
  return text.replace(/_(?=x[0-9A-Fa-f]{4}_)/g, "_x005F_").replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;");
}

/** The same rows as CSV, for a phone that refuses to save a file: to be copied into a message. */
function csvText(records, kind) {
  const {head, rows} = rowsToExport(records, kind);
  const cell = (value) => (/[",\n]/.test(String(value)) ? `"${String(value).replace(/"/g, '""')}"` : String(value));
  return [head, ...rows].map((cells) => cells.map(cell).join(",")).join("\n");
}

/** Hand a file to the browser to be saved. */
function saveFile(blob, name) {
  const address = URL.createObjectURL(blob);
  const link = make("a", {href: address, download: name, hidden: true});
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}
