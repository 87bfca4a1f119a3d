// Bytes as text: five digits of base 85 for four bytes, a sixteenth less than in base 64.

/** All printable characters that mean nothing in HTML, in strings or in comments. */
const DIGITS = [..."!#$%()*+,.0123456789:;=?@ABCDEFGHIJKLMNOPQRSTUVWXYZ[]^_abcdefghijklmnopqrstuvwxyz{|}~"];

/**
 * The text of bytes, whose number can be divided by four.
 * @param {Uint8Array} bytes
 */
export function encoded(bytes) {
  if (bytes.length % 4 !== 0) throw new Error(`${bytes.length} bytes cannot be divided by four`);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  let text = "";
  for (let at = 0; at < bytes.length; at += 4) {
    let [word, digits] = [view.getUint32(at), ""];
    for (let k = 0; k < 5; k++) {
      digits = DIGITS[word % DIGITS.length] + digits;
      word = Math.floor(word / DIGITS.length);
    }
    text += digits;
  }
  return text;
}

/**
 * The bytes of a text.
 * @param {string} text
 */
export function decoded(text) {
  const values = new Uint8Array(128);
  DIGITS.forEach((digit, value) => (values[digit.charCodeAt(0)] = value));
  const bytes = new Uint8Array((text.length / 5) * 4);
  const view = new DataView(bytes.buffer);
  for (let from = 0, to = 0; from < text.length; from += 5, to += 4) {
    let word = 0;
    for (let k = 0; k < 5; k++) word = word * DIGITS.length + values[text.charCodeAt(from + k)];
    view.setUint32(to, word);
  }
  return bytes;
}
