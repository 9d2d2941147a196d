// Asks the journal for who this phone works for, and remembers whether that person is let in.
import { keep, kept, tell } from "./db.js";
import { FOR, key } from "./whose.js";

/** Why nobody was let in the last time, in a word; "" when they were. */
export const keptOut = async () => (await kept("kept-out")) ?? "";

/** Fetches as fetch does. */
export async function ask(path, init = {}) {
  const answer = await fetch(path, { ...init, headers: { Accept: "application/json", [FOR]: key, ...init.headers } });
  await note(answer).catch(() => {}); // a browser may refuse to remember
  return answer;
}

async function note(answer) {
  const why = answer.status === 412 ? "someone-else" : answer.status === 401 ? ((await answer.clone().json().catch(() => null))?.error ?? "signed-out") : "";
  if (why === (await keptOut())) return;
  await keep("kept-out", why);
  tell("");
}
