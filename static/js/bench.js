/* The bench with JavaScript: the bar counts what is ticked, refreshing keeps ticks and folds and
   tells news. */
"use strict";

function openBench() {
  const lists = document.getElementById("lists");
  const bar = document.getElementById("bar");
  const news = document.getElementById("became-ready");
  let before = null;

  if (!lists) {
    return;
  }

  const ticks = () => [...lists.querySelectorAll('input[name="decal"]')];

  function count() {
    const chosen = ticks().filter((tick) => tick.checked);
    bar.hidden = chosen.length === 0 && !bar.querySelector('[aria-invalid="true"]');
    for (const button of bar.querySelectorAll("button[name=step]")) {
      const many = chosen.filter((tick) => tick.dataset.step === button.value).length;
      button.hidden = many === 0;
      /* Decals that wait for different steps cannot be logged at one go. */
      button.disabled = many !== chosen.length;
      button.textContent = `${button.dataset.label} (${many})`;
    }
    const steps = new Set(chosen.map((tick) => tick.dataset.step));
    document.getElementById("ticked").textContent =
      steps.size > 1 ? "Tick decals with the same next step." : "";
  }

  function remember() {
    return {
      ticked: new Set(ticks().filter((tick) => tick.checked).map((tick) => tick.value)),
      unfolded: [...lists.querySelectorAll("details[open]")].map((part) => part.id),
      ready: new Set([...lists.querySelectorAll("[data-ready]")].map((row) => row.id)),
    };
  }

  function tellNews(known) {
    const fresh = [...lists.querySelectorAll("[data-ready]")].filter((row) => !known.has(row.id));
    if (fresh.length) {
      const named = fresh.slice(0, 3).map((row) => row.dataset.ready);
      const rest = fresh.length > 3 ? ` and ${fresh.length - 3} more` : "";
      news.textContent = `Ready now: ${named.join("; ")}${rest}.`;
      document.dispatchEvent(new CustomEvent("bench:ready", { detail: news.textContent }));
    }
  }

  lists.addEventListener("htmx:beforeSwap", () => {
    before = remember();
  });

  lists.addEventListener("htmx:afterSwap", () => {
    for (const tick of ticks()) {
      tick.checked = tick.checked || before.ticked.has(tick.value);
    }
    for (const id of before.unfolded) {
      document.getElementById(id)?.setAttribute("open", "");
    }
    tellNews(before.ready);
    if (bar) {
      count();
    }
  });

  if (bar) {
    bar.classList.add("follows");
    lists.addEventListener("change", count);
    count();
  }
}

document.addEventListener("DOMContentLoaded", openBench);
/* A refused form brings the bench anew, without loading the page. */
document.addEventListener("page:shown", openBench);
