/* A decal's page refreshes itself, but never under the hands of somebody who fills in a form. */
"use strict";

document.addEventListener("htmx:beforeSwap", (event) => {
  const panels = event.target.closest?.("#decal-refresh");
  if (!panels) {
    return;
  }
  const parts = [...document.querySelectorAll("#decal-next, #decal-log")];
  const typed = (field) => field.checkVisibility() && field.value !== field.defaultValue;
  const touched = parts.some(
    (part) =>
      part.contains(document.activeElement) ||
      part.querySelector("details[open], form[data-sent]") ||
      [...part.querySelectorAll("input")].some(typed),
  );
  if (touched || document.querySelector("#not-saved:not([hidden])")) {
    event.detail.shouldSwap = false;
  }
});
