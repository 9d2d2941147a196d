// Signing in: passkeys, where the browser and the address have them, and a look at what is typed.

const bytes = (text) => Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (c) => c.charCodeAt(0));
const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer))).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

// send posts to an address and returns what it answers; a refusal becomes an error with its sentence.
async function send(address, body, headers = {}) {
  const answer = await fetch(address, { method: "POST", body, headers: { Accept: "application/json", ...headers } });
  const said = await answer.json();
  if (!answer.ok) throw new Error(said.detail);
  return said;
}

// Binary parts travel as base64url (W3C, Web Authentication, "JSON serialization"); not every browser knows it by itself.
const decoded = (o) => ({
  ...o,
  challenge: bytes(o.challenge),
  ...(o.user && { user: { ...o.user, id: bytes(o.user.id) } }),
  ...(o.excludeCredentials && { excludeCredentials: o.excludeCredentials.map((c) => ({ ...c, id: bytes(c.id) })) }),
});

function encoded(credential) {
  const response = {};
  for (const part of ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (credential.response[part]) response[part] = text(credential.response[part]);
  }
  if (credential.response.getTransports) response.transports = credential.response.getTransports();
  return JSON.stringify({ id: credential.id, rawId: text(credential.rawId), type: credential.type, clientExtensionResults: credential.getClientExtensionResults(),
    authenticatorAttachment: credential.authenticatorAttachment ?? undefined, response });
}

async function ceremony(part) {
  const form = document.getElementById(part.dataset.form);
  const begun = await send(part.dataset.begin, form ? new URLSearchParams([["word", form.elements.word?.value ?? ""]]) : null);
  const credential = await navigator.credentials[part.dataset.passkey]({ publicKey: decoded(begun.publicKey) });
  const to = part.dataset.to ? "?" + new URLSearchParams({ to: part.dataset.to }) : "";
  const { then } = await send(part.dataset.end + to, encoded(credential), { "Content-Type": "application/json" });
  location.assign(then);
}

for (const part of document.querySelectorAll("[data-passkey]")) {
  if (!window.PublicKeyCredential) break;
  part.hidden = false;
  const [button, trouble] = [part.querySelector("button"), part.querySelector('[role="alert"]')];
  button.addEventListener("click", async () => {
    button.disabled = true;
    trouble.hidden = true;
    try {
      await ceremony(part);
    } catch (failure) {
      // A person who turns away is told the same as one whom the device refuses: which it was, no browser says.
      trouble.textContent = failure.name === "Error" ? failure.message
        : failure.name === "InvalidStateError" ? "This device keeps a passkey of your account already."
          : failure.name === "TypeError" ? "The journal did not answer. Look at your signal and try again."
            : "It was not finished. Try again, or use a passphrase.";
      trouble.hidden = false;
      button.disabled = false;
    }
  });
}

for (const button of document.querySelectorAll("[data-show]")) {
  const field = document.getElementById(button.dataset.show);
  button.hidden = false;
  button.addEventListener("click", () => {
    const shown = field.type === "text";
    field.type = shown ? "password" : "text";
    button.textContent = shown ? "Show the passphrase" : "Hide the passphrase";
  });
}
