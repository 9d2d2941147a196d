// Breaks text into lines: pure functions, told how wide a text is.

// The words of a text, those cut in parts that have no room in one line.
export function broken(text, fit) {
  return text.split(/\s+/).flatMap((word) => {
    const parts = [];
    while (word && !fit(word)) {
      let n = word.length - 1;
      while (n > 1 && !fit(word.slice(0, n))) n--;
      parts.push(word.slice(0, n));
      word = word.slice(n);
    }
    return word ? [...parts, word] : parts;
  });
}

// Lines no wider than most.
export function wrap(text, most, wide) {
  const lines = [];
  for (const word of broken(text.trim(), (part) => wide(part) <= most)) {
    const longer = lines.length ? lines.at(-1) + " " + word : word;
    if (lines.length && wide(longer) <= most) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

// The colours of a drawing as numbers, as on white paper, for programs that know no styles.
export const onPaper = (text) => text.replace(/var\(--[\w-]+, (#[0-9a-f]{6})\)/g, "$1").replaceAll("#fffdf7", "#ffffff").replace(/ class="[^"]*"/g, "");
