/* What every page does when JavaScript runs: nothing here is needed without it. */
"use strict";

/* A second press of the same button would log the same thing twice in a row. */
document.addEventListener("submit", (event) => {
  if (event.target.method !== "post" || event.defaultPrevented) {
    return;
  }
  if (event.target.dataset.sent) {
    event.preventDefault();
    return;
  }
  event.target.dataset.sent = "yes";
});

/* A page that the browser kept and shows again may be sent anew. */
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
  }
});

function goToWhatIsWrong() {
  const wrong = document.querySelector('[aria-invalid="true"]');
  if (wrong) {
    wrong.focus();
  }
}

document.addEventListener("DOMContentLoaded", goToWhatIsWrong);
document.addEventListener("page:shown", goToWhatIsWrong);

document.addEventListener("DOMContentLoaded", () => {
  const nav = document.querySelector(".nav");
  const here = document.querySelector(".nav [aria-current]");
  if (here && nav.scrollWidth > nav.clientWidth) {
    nav.scrollLeft = here.offsetLeft - nav.offsetLeft - (nav.clientWidth - here.offsetWidth) / 2;
  }
});
