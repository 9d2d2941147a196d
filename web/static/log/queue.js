// The rules of what waits to be sent: in which order, and what an answer means for it.

/** The rig made on this phone that must arrive before a session, if there is one. */
export const heldBy = (d, rigs) => rigs.find((r) => r.state !== "arrived" && d.stints.some((st) => st.rig === r.id));

/**
 * What an answer means.
 * @param {number} status of the answer; 0 for none
 * @param {Object} said its JSON
 * @returns {{result: "arrived"|"no signal"|"signed out"|"refused"|"conflict", state?: string, problems: string[], more?: Object}}
 *   state: in which it waits on; nothing else is sent after "no signal" and "signed out"
 */
export function meaning(status, said) {
  const problems = (said?.problems ?? []).map((p) => p.says);
  const waits = (result, or) => ({ result, state: "ready", problems: problems.length > 0 ? problems : [or] });
  const refused = (more) => ({ result: "refused", state: "refused", problems: problems.length > 0 ? problems : [`The journal did not accept it (${status}).`], more });
  if (status === 0) return { result: "no signal", state: "ready", problems: ["No answer yet. It will be sent again as soon as there is signal."] };
  if (status >= 200 && status < 300) return { result: "arrived", problems: [] };
  if (status === 401) return said?.error === "signed-out" ? { result: "signed out", state: "ready", problems: ["Sign in to send it."] } : waits("signed out", "Sign in to send it.");
  if (status === 412) return waits("signed out", "Someone else is signed in. It is sent when you sign in again.");
  if (status === 409) return { result: "conflict", state: "conflict", problems, more: { stored: said?.stored ?? null, deleted: Boolean(said?.deleted) } };
  if (status === 404) return refused({ version: 0 }); // it is nowhere any more: it can be sent as new
  if (status === 503) return { result: "no signal", state: "ready", problems: ["Saved on the phone, not yet here. It is sent again by itself."] };
  if (status === 429 || status >= 500) return waits("no signal", "The journal can’t take it right now. It will be sent again.");
  return refused(said?.error === "doubtful" ? { doubtful: true } : undefined);
}
