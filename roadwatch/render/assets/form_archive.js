/* A ZIP archive whose members are stored as they are (APPNOTE 6.3): what a workbook is made of. */

const CRC_OF_BYTE = Array.from({length: 256}, (_, byte) => {
  let crc = byte;
  for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  return crc >>> 0;
});

function crc32(bytes) {
  let crc = 0xffffffff;
  for (const byte of bytes) crc = CRC_OF_BYTE[(crc ^ byte) & 0xff] ^ (crc >>> 8);
  return (crc ^ 0xffffffff) >>> 0;
}

/** Numbers as little-endian bytes: a list of [value, how many bytes]. */
function littleEndian(numbers) {
  return Uint8Array.from(numbers.flatMap(([value, size]) =>
    Array.from({length: size}, (_, k) => Math.floor(value / 256 ** k) % 256)));
}

const ARCHIVE_DAY = (2020 - 1980) * 512 + 1 * 32 + 1;  // the same for all, so that equal records make equal bytes

/** An archive of texts by name. */
function archiveOf(texts) {
  const members = [];
  const directory = [];
  let offset = 0;
  for (const [name, text] of Object.entries(texts)) {
    const body = new TextEncoder().encode(text);
    const label = new TextEncoder().encode(name);
    const common = [[20, 2], [0x0800, 2], [0, 2], [0, 2], [ARCHIVE_DAY, 2], [crc32(body), 4], [body.length, 4], [body.length, 4],
      [label.length, 2], [0, 2]];
    const head = littleEndian([[0x04034b50, 4], ...common]);
    members.push(head, label, body);
    directory.push(littleEndian([[0x02014b50, 4], [20, 2], ...common, [0, 2], [0, 2], [0, 2], [0, 4], [offset, 4]]), label);
    offset += head.length + label.length + body.length;
  }
  const size = directory.reduce((sum, part) => sum + part.length, 0);
  const count = Object.keys(texts).length;
  const end = littleEndian([[0x06054b50, 4], [0, 2], [0, 2], [count, 2], [count, 2], [size, 4], [offset, 4], [0, 2]]);
  return new Blob([...members, ...directory, end], {type: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"});
}
