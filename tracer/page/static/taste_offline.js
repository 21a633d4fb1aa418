// Reads a line by the words the phone has with it: notes, denials, cups by number or count; and what stops tasting at once.
"use strict";
const folded = (text) => text.toLowerCase().normalize("NFD").replace(/\p{M}/gu, "");
const ownWords = (text) => text.match(/[\p{L}\p{M}\p{N}]+/gu) || [];
const wordsOf = (text) => ownWords(text).map(folded);
const CUPS = "(?:cups?|tazas?|xicaras?)";

const phraseReader = (offline) => {
  const stops = new Set(offline.stops);
  const denials = new Set(offline.denials);
  const longest = 6;
  const cupsSaid = (line) => {
    const plain = folded(line);
    // What was said is cut out of the taster's own spelling where the signs stand at the same places.
    const source = plain.length === line.length ? line : plain;
    const without = (match) => `${source.slice(0, match.index)} ${source.slice(match.index + match[0].length)}`;
    const which = plain.match(new RegExp(`\\b${CUPS}\\s+(\\d{1,2}(?:\\s*(?:,|and|y|e|&|-)\\s*\\d{1,2})*)`));
    if (which && !/\s*(?:of|de)\s*\d/.test(plain.slice(which.index + which[0].length, which.index + which[0].length + 6))) {
      const range = which[1].match(/^(\d+)\s*-\s*(\d+)$/);
      const numbers = range && Number(range[1]) < Number(range[2])
        ? Array.from({length: range[2] - range[1] + 1}, (_, i) => Number(range[1]) + i)
        : which[1].match(/\d+/g).map(Number);
      return {which: numbers, cups: numbers.length, rest: without(which)};
    }
    const share = plain.match(new RegExp(`\\b(\\d{1,2})\\s*(?:/|of|de|em)\\s*(?:the|las|as)?\\s*\\d{1,2}(?:\\s*${CUPS})?|\\b(\\d{1,2})\\s+${CUPS}`));
    if (share) return {which: [], cups: Number(share[1] || share[2]), rest: without(share)};
    const all = plain.match(new RegExp(`\\b(?:all|todas)(?:\\s+(?:the|las|as))?(?:\\s+${CUPS})?`));
    return all ? {which: [], cups: -1, rest: without(all)} : {which: [], cups: null, rest: source};
  };
  const found = (clause, known) => {
    const own = ownWords(clause);
    const words = own.map(folded);
    const said = [];
    let denied = false;
    for (let at = 0; at < words.length; at += 1) {
      let length = Math.min(longest, words.length - at);
      while (length && !known(words.slice(at, at + length).join(" "))) length -= 1;
      const phrase = words.slice(at, at + length).join(" ");
      if (length) {
        said.push({phrase, own: own.slice(at, at + length).join(" "), found: !denied});
        at += length - 1;
      } else if (denials.has(words[at])) {
        denied = true;
      }
    }
    return said;
  };
  const clauses = (text) => text.split(/[,;.]|\b(?:but|pero|mas)\b/);
  return {
    // True where a line names, not denied, what nobody should go on tasting.
    stops: (text) => clauses(text).some((one) => found(one, (phrase) => stops.has(phrase)).some((said) => said.found)),
    read: (line) => {
      const cups = cupsSaid(line.normalize("NFC"));
      const readings = [];
      for (const clause of clauses(cups.rest)) {
        const said = found(clause, (phrase) => phrase in offline.words || stops.has(phrase));
        for (const one of said) {
          const means = offline.words[one.phrase] || null;
          readings.push({
            words: one.own, outcome: means ? "matched" : "unknown", found: one.found, intensity: null, cups: cups.cups, which: cups.which,
            share: null, means, ask: null, candidates: [], suggestions: [], stop: one.found && stops.has(one.phrase),
          });
        }
        if (!said.length && wordsOf(clause).length) {
          readings.push({
            words: clause.trim(), outcome: "unknown", found: true, intensity: null, cups: cups.cups, which: cups.which, share: null,
            means: null, ask: null, candidates: [], suggestions: [], stop: false,
          });
        }
      }
      return readings;
    },
  };
};
