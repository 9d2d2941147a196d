// The name that was probably meant by one that nobody knows, as journal/near finds it.
const FAR = 1000, INITIAL_COSTS = 2, WORD_COSTS = 3, MOST_WORDS = 6;

const plain = (s) => s.toLowerCase().normalize("NFD").replace(/\p{Mn}/gu, "").replaceAll("ß", "ss").replaceAll("ø", "o").replaceAll("æ", "ae");
const letters = (s) => [...s];

function take(name) {
  const runs = plain(name).match(/\p{L}[\p{L}'’]*|\p{Nd}[\p{Nd}'’]*/gu) ?? [];
  const number = (run) => /^\p{Nd}/u.test(run) || (letters(run).length > 1 && /^[ivx]+$/.test(run));
  const words = runs.filter((r) => !number(r));
  return { name, words, numbers: runs.filter(number), compact: (plain(name).match(/[\p{L}\p{Nd}]/gu) ?? []).join(""), letters: letters(words.join("")).length };
}

/** Letters to add, drop, change or swap with their neighbor. */
export function slips(a, b) {
  const x = letters(a), y = letters(b), far = x.length + y.length, last = new Map();
  const d = Array.from({ length: x.length + 2 }, () => new Array(y.length + 2).fill(far));
  for (let i = 0; i <= x.length; i++) d[i + 1][1] = i;
  for (let j = 0; j <= y.length; j++) d[1][j + 1] = j;
  for (let i = 1; i <= x.length; i++) {
    let match = 0;
    for (let j = 1; j <= y.length; j++) {
      const k = last.get(y[j - 1]) ?? 0, l = match, same = x[i - 1] === y[j - 1];
      if (same) match = j;
      d[i + 1][j + 1] = Math.min(d[i][j] + (same ? 0 : 1), d[i + 1][j] + 1, d[i][j + 1] + 1, d[k][l] + (i - k - 1) + 1 + (j - l - 1));
    }
    last.set(x[i - 1], i);
  }
  return d[x.length + 1][y.length + 1];
}

function apart(a, b) {
  if (a === b) return 0;
  const m = letters(a).length, n = letters(b).length, fewest = Math.min(m, n);
  const most = fewest < 3 ? 0 : fewest < 8 ? 1 : 2;
  if (Math.abs(m - n) > most) return FAR;
  const d = slips(a, b);
  return d <= most ? d : FAR;
}

const initial = (a, b) => letters(a).length === 1 && b.length > a.length && b.startsWith(a);

/** The least that the words differ by. One pair at least has to be words, not initials. */
function match(short, long, used, most, slipped, whole) {
  if (short.length === 0) return whole ? 0 : FAR;
  const [a, ...rest] = short;
  let least = FAR;
  long.forEach((b, i) => {
    if (used[i]) return;
    used[i] = true;
    if (initial(a, b) || initial(b, a)) {
      least = Math.min(least, INITIAL_COSTS + match(rest, long, used, most, slipped, whole));
    } else {
      const d = apart(a, b);
      if (slipped + d <= most) least = Math.min(least, d + match(rest, long, used, most, slipped + d, whole || letters(a).length > 1));
    }
    used[i] = false;
  });
  return least;
}

function distance(p, o) {
  const fewest = Math.min(p.letters, o.letters);
  if (fewest <= 3 || p.numbers.join(" ") !== o.numbers.join(" ")) return FAR;
  if (p.compact === o.compact) return 0;
  const [short, long] = p.words.length > o.words.length ? [o.words, p.words] : [p.words, o.words];
  const extra = long.length - short.length;
  if (extra > 1 || long.length > MOST_WORDS) return FAR;
  if (extra === 1) {
    const d = apart(short.join(""), long.join(""));
    if (d <= 1) return d;
  }
  const d = match(short, long, [], Math.max(1, Math.floor(fewest / 5)), 0, false);
  return d >= FAR ? FAR : d + WORD_COSTS * extra;
}

/** @returns {string} the name among those known that was probably meant; "" for none, or where it is known itself */
export function near(name, among) {
  const wanted = take(name), is = (other) => other.trim().toLowerCase() === name.trim().toLowerCase();
  let best = "", least = FAR;
  for (const known of among) {
    if (is(known)) return "";
    const d = distance(wanted, take(known));
    if (d < least) [best, least] = [known, d];
  }
  return best;
}
