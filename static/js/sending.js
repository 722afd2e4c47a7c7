/* Forms that log something, over a bad network: sent by script, kept until they are saved. */
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const PATIENCE_MS = 25000;
  const unsaved = new Set();

  /* base.js has seen the press first, and lets only one through. */
  document.addEventListener("submit", (event) => {
    const form = event.target;
    const bringsFiles = form.enctype === "multipart/form-data";
    if (event.defaultPrevented || bringsFiles || !form.querySelector('input[name="key"]')) {
      return;
    }
    event.preventDefault();
    const button = event.submitter;
    const data = new FormData(form);
    if (button?.name) {
      data.append(button.name, button.value);
    }
    send({
      form,
      to: button?.getAttribute("formaction") || form.getAttribute("action") || location.href,
      what: button?.textContent.trim() || "This",
      body: new URLSearchParams(data),
    });
  });

  async function send(sending) {
    let answer, page;
    try {
      answer = await fetch(sending.to, {
        method: "POST",
        body: sending.body,
        headers: { "X-Sent-By-Script": "yes" },
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
      page = await answer.text();
    } catch {
      return keep(sending);
    }
    if (answer.status >= 500) {
      return keep(sending);
    }
    unsaved.delete(sending);
    tell();
    follow(answer, page);
  }

  /* While something else is not saved the page stays as it is. */
  function follow(answer, page) {
    const leads = answer.headers.get("X-Leads-To") || (answer.redirected && answer.url);
    if (leads && unsaved.size === 0) {
      location.assign(leads);
    } else if (!leads) {
      show(page);
    }
  }

  /* What was refused comes back as a page, with what is wrong beside the field. */
  function show(text) {
    const page = new DOMParser().parseFromString(text, "text/html");
    const main = document.importNode(page.querySelector("main"), true);
    document.querySelector("main").replaceWith(main);
    document.title = page.title;
    htmx.process(main);
    window.scrollTo(0, 0);
    document.dispatchEvent(new Event("page:shown"));
  }

  function keep(sending) {
    unsaved.add(sending);
    delete sending.form.dataset.sent;
    tell();
  }

  function tell() {
    const told = document.getElementById("not-saved") || makeTold();
    const named = [...unsaved].map((sending) => `‘${sending.what}’`).join(", ");
    told.hidden = unsaved.size === 0;
    told.querySelector("p").textContent = unsaved.size ? `Not saved, try again: ${named}.` : "";
    waiting(false);
  }

  function waiting(yes) {
    for (const button of document.querySelectorAll("#not-saved button")) {
      button.disabled = yes;
    }
  }

  function again() {
    waiting(true);
    [...unsaved].forEach(send);
  }

  function leave() {
    unsaved.clear();
    tell();
  }

  function makeTold() {
    const told = document.createElement("div");
    told.id = "not-saved";
    told.className = "not-saved";
    told.setAttribute("role", "alert");
    told.append(document.createElement("p"));
    told.append(pressing("Try again", again), pressing("Leave it", leave));
    document.body.append(told);
    return told;
  }

  function pressing(words, does) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = words;
    button.addEventListener("click", does);
    return button;
  }

  window.addEventListener("online", again);
  window.addEventListener("beforeunload", (event) => {
    if (unsaved.size) {
      event.preventDefault();
    }
  });
});
