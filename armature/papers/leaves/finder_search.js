"use strict";
// Looking for a name, without a page: spelling, sound and slips.

// The same folding as of the keys: letters and digits, no accents, no capitals, letters of their own as plain ones.
const PLAIN = {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ŧ": "t", "þ": "th", "æ": "ae", "œ": "oe", "ς": "σ", "ß": "ss"};
function folded(text) {
  const plain = text.normalize("NFKD").toLowerCase().replace(/[øłđðħıŧþæœςß]/g, sign => PLAIN[sign]);
  return plain.replace(/-/g, " ").replace(/[^\p{L}\p{N}\s]/gu, "").replace(/\s+/g, " ").trim();
}

// Scripts that lie parallel share one table.
function parallel(sign) {
  const code = sign.codePointAt(0);
  if (code >= 0x900 && code < 0xd80) return String.fromCodePoint(0x900 + code % 0x80);
  return code >= 0x30a1 && code <= 0x30f6 ? String.fromCodePoint(code - 0x60) : sign;
}

function spelled(signs, way, table) {
  let out = "", k = 0;
  while (k < signs.length) {
    const size = [2, 1].find(n => k + n <= signs.length && signs.slice(k, k + n) in table.letters);
    const sign = signs.slice(k, k + (size || 1));
    out += size ? table.letters[sign][way] : sign;
    k += sign.length;
    if (table.bare.includes(sign) && !(k < signs.length && table.signs.includes(signs[k]))) out += "a";
  }
  return out;
}

// The one or two ways to spell a text in Latin letters; none where it holds no sign of another script.
function romanised(text, table) {
  const signs = [...text.normalize("NFKC").toLowerCase().normalize("NFKD")].map(parallel).join("");
  const ways = [0, 1].map(way => spelled(signs, way, table));
  return ways.every(way => way === signs) ? [] : [...new Set(ways)];
}

// What two spellings of one sound have in common: consonants, those that are often taken for one another as one.
const SOUNDS = [
  [/(.)\1+/g, "$1"], [/^(?:kn|gn|pn)/, "n"], [/^wr/, "r"], [/^ps/, "s"], [/ph/g, "f"], [/gh(?=t|$)/g, ""], [/sch|sh|tch|zh|cz|sz|ts|tz/g, "s"],
  [/ch(?=[rl])|kh|ck|qu?/g, "k"], [/ch/g, "s"], [/c(?=[eiy])/g, "s"], [/x/g, "ks"], [/[cg]/g, "k"], [/[zß]/g, "s"],
  [/[vw]/g, "f"], [/d/g, "t"], [/b/g, "p"], [/m(?=[pf])/g, "n"], [/^[aeiouyhj]+/, "a"], [/(?!^)[aeiouyhj]/g, ""], [/(.)\1+/g, "$1"],
];
function sound(word) { return SOUNDS.reduce((text, [from, to]) => text.replace(from, to), word); }

// Letters wrong, missing, too many or changed about between two words (optimal string alignment); `rest`: the second may go on.
function slips(a, b, rest) {
  let before = [], last = Array.from({length: b.length + 1}, (_, k) => k);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      row[j] = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1));
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) row[j] = Math.min(row[j], before[j - 2] + 1);
    }
    [before, last] = [last, row];
  }
  return rest ? Math.min(...last) : last[b.length];
}

function allowed(word) { return word.length < 3 ? 0 : word.length < 6 ? 1 : 2; }

// How far a typed word is from the nearest of a name's words: slips, or a little more where it only sounds the same.
function off(typed, words, last) {
  const heard = sound(typed), most = allowed(typed);
  return Math.min(...words.map(word => {
    const wrong = slips(typed, word, last);
    return wrong <= most ? wrong : heard.length > 1 && sound(word) === heard ? most + 0.5 : Infinity;
  }));
}

function far(words, key) {
  const own = key.split(" "), typed = words.join(""), whole = own.join("");
  const apart = words.reduce((sum, word, k) => sum + off(word, own, k === words.length - 1), 0);
  // Written in one or in two: Mary Ann, Maryann.
  const joined = slips(typed, whole, false);
  return Math.min(apart, typed.length > 5 && joined <= 2 ? joined : Infinity);
}

// Names written or spoken like what is typed, best first: [distance, row].
function alike(ways, keys) {
  const asked = ways.map(way => way.split(" ").filter(Boolean)).filter(words => words.length);
  const rows = keys.map((own, row) => [Math.min(...asked.flatMap(words => own.map(key => far(words, key)))), row]);
  return rows.filter(([distance]) => distance < Infinity).sort((a, b) => a[0] - b[0] || a[1] - b[1]).map(([, row]) => row);
}

// The names that come nearest where none is alike: at most half of the letters wrong.
function nearest(ways, keys, most) {
  const share = (typed, own) => slips(typed, own, false) / Math.max(typed.length, own.length, 1);
  const rows = keys.map((own, row) => [Math.min(...ways.flatMap(way => own.flatMap(key => [key, ...key.split(" ")]).map(word => share(way, word)))), row]);
  return rows.filter(([distance]) => distance <= 0.5).sort((a, b) => a[0] - b[0] || a[1] - b[1]).slice(0, most).map(([, row]) => row);
}
