// Cautions as soon as a condition is entered. Filled in with the journal's own words.
export function cautions() { return []; }
