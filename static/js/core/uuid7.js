/* UUIDv7 (RFC 9562, section 5.7): 48 bits of Unix milliseconds, then random. Ids made in one ms keep their order. */

let last = { ms: 0, count: 0 };

/** A new id; `ms` is Unix time in milliseconds, `random` fills an array of bytes.
    @param {number} ms @param {(bytes: Uint8Array) => Uint8Array} random */
export function uuid7(ms = Date.now(), random = fill) {
  const bytes = random(new Uint8Array(16));
  last = ms > last.ms ? { ms, count: 0 } : { ms: last.ms, count: last.count + 1 };
  if (last.count > 0xfff) last = { ms: last.ms + 1, count: 0 };
  return shape(last.ms, last.count, bytes);
}

/** @param {Uint8Array} bytes */
function fill(bytes) {
  return globalThis.crypto.getRandomValues(bytes);
}

/** The text of an id of this millisecond, this 12-bit counter and these 16 random bytes.
    @param {number} ms @param {number} count @param {Uint8Array} bytes */
export function shape(ms, count, bytes) {
  /** @param {number} n @param {number} width */
  const hex = (n, width) => n.toString(16).padStart(width, "0");
  const tail = [...bytes.slice(8)].map((byte, i) => hex(i === 0 ? (byte & 0x3f) | 0x80 : byte, 2)).join("");
  const time = hex(ms, 12);
  return `${time.slice(0, 8)}-${time.slice(8)}-7${hex(count, 3)}-${tail.slice(0, 4)}-${tail.slice(4)}`;
}
