// The phone in a hand: a buzz under the thumb, and a screen that stays on. Where a browser
// has neither, or says no, nothing else changes.

/** A short buzz. A page that nobody has touched yet may not. */
export function buzz() {
  if (navigator.userActivation?.hasBeenActive !== false) navigator.vibrate?.(25);
}

/**
 * Keeps the screen on, also after the page was hidden, which ends it.
 * @returns {() => void} lets it go dark again
 */
export function stayAwake() {
  let lock, wanted = true;
  const letGo = () => lock?.release().catch(() => {});
  const hold = async () => {
    if (document.hidden) return;
    lock = await navigator.wakeLock?.request("screen").catch(() => undefined); // a low battery may refuse it
    if (!wanted) letGo();
  };
  document.addEventListener("visibilitychange", hold);
  hold();
  return () => {
    wanted = false;
    document.removeEventListener("visibilitychange", hold);
    letGo();
  };
}
