/* Names for records that nobody else gives, and moments as ISO 8601 text in the phone's own time. */

/** A random UUID (RFC 9562, version 4), also where the page is no secure context. */
function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

const twoDigits = (number) => String(number).padStart(2, "0");

/** The local day, 2025-05-12. */
function dayText(moment) {
  return `${moment.getFullYear()}-${twoDigits(moment.getMonth() + 1)}-${twoDigits(moment.getDate())}`;
}

/** The local moment with its offset, 2025-05-12T07:40:00-04:00. */
function momentText(moment) {
  const offset = -moment.getTimezoneOffset();
  const size = Math.abs(offset);
  const zone = `${offset < 0 ? "-" : "+"}${twoDigits(Math.floor(size / 60))}:${twoDigits(size % 60)}`;
  return `${dayText(moment)}T${twoDigits(moment.getHours())}:${twoDigits(moment.getMinutes())}:${twoDigits(moment.getSeconds())}${zone}`;
}

/** What an input of type datetime-local shows for a stored moment, and back. */
const shownInInput = (text) => (text || "").slice(0, 16);
function readFromInput(text) {
  const moment = new Date(text);
  return text && !Number.isNaN(moment.getTime()) ? momentText(moment) : "";
}

/** Day and minute, for people. */
const shortMoment = (text) => (text || "").slice(0, 16).replace("T", " ");
