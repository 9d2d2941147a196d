// The phone's position is asked for on a tap, rounded here, and sent as what would be typed.
"use strict";

const near = document.querySelector("[data-near]");
if (near && "geolocation" in navigator && isSecureContext) {
  const says = near.querySelector("[data-says]"), button = near.querySelector("[data-here]");
  const say = (text) => { says.textContent = text; says.hidden = text === ""; };
  const rounded = (degrees) => (Math.round(degrees * 10) / 10).toFixed(1);
  near.querySelector("[data-position]").hidden = false;
  button.addEventListener("click", () => {
    say("Asking for your position …");
    button.disabled = true;
    navigator.geolocation.getCurrentPosition(({ coords }) => {
      near.elements.latitude.value = rounded(coords.latitude);
      near.elements.longitude.value = rounded(coords.longitude);
      button.disabled = false;
      near.requestSubmit(near.querySelector("button[value=near]"));
    }, (error) => {
      button.disabled = false;
      say(error.code === error.PERMISSION_DENIED
        ? "The browser does not tell your position here. Allow it in its settings, or type a place below."
        : "Your position can’t be found just now. Try again under the open sky, or type a place below.");
    }, { maximumAge: 600000, timeout: 30000, enableHighAccuracy: false });
  });
}
