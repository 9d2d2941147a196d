// For whom this phone works: each page says so, and the worker's address. What is kept on the
// phone is kept by that key, so that two people on one phone don't see or send each other's.
const page = globalThis.document;

/** The key of who is signed in, "" where a page stands outside every journal. */
export let key = (page ? page.body.dataset.for : new URLSearchParams(globalThis.location?.search).get("for")) ?? "";

/** Whether nobody else is served, as it always was before people could sign in. */
export const alone = page ? "alone" in page.body.dataset : false;

/** The name of the header that says it to the journal, which refuses what is another's. */
export const FOR = "Rigtally-For";

/** Asks who is signed in, for a page that does not say. */
export async function learn() {
  key ||= (await fetch("/manifest.webmanifest", { method: "HEAD" }).catch(() => null))?.headers.get(FOR) ?? "";
}
