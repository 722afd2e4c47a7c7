/* A picture on its way: a large one takes some seconds to arrive and to be read. */
"use strict";

{
  const line = (form) => form.querySelector(".sending");

  document.addEventListener("submit", (event) => {
    const form = event.target;
    const chosen = form.querySelector?.('input[type="file"]')?.files.length;
    if (event.defaultPrevented || !form.matches("[data-reading]") || !chosen) {
      return;
    }
    line(form).hidden = false;
    line(form).querySelector("span").textContent =
      "Reading the picture… A large one takes some seconds.";
  });

  /* A page that the browser kept and shows again is not reading any more. */
  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-reading]")) {
      line(form).hidden = true;
    }
  });
}
