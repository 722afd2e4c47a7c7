/* Keys: / to the search, ? to the list of keys, arrows from row to row. Tab and Enter do the rest. */
"use strict";

(() => {
  const TYPED_IN = "input, select, textarea, [contenteditable]";
  const FOCUSABLE = "a[href], button:not(:disabled), input:not([type=hidden]), select, summary";

  const seen = (list) => [...list].filter((element) => element.checkVisibility());
  const rows = () => seen(document.querySelectorAll(".rows > .row"));
  const inside = (row) => seen(row.querySelectorAll(FOCUSABLE));

  /* The same thing in another row: a tick box for a tick box, a button for a button. */
  function counterpart(row, from) {
    const all = inside(row);
    const same = (one) => one.tagName === from.tagName && one.type === from.type;
    return all.find(same) ?? main(row);
  }

  function main(row) {
    return row.querySelector(".name a") ?? inside(row)[0];
  }

  function step(event, from) {
    const all = rows();
    const at = all.indexOf(from.closest(".row"));
    const next = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: all.length - 1 }[event.key];
    if (at < 0 || next === undefined || !all[next]) {
      return;
    }
    event.preventDefault();
    counterpart(all[next], from)?.focus();
  }

  function enterList(event) {
    const first = rows()[0];
    if (event.key === "ArrowDown" && first) {
      event.preventDefault();
      main(first)?.focus();
    }
  }

  function single(event) {
    if (document.body.dataset.keys === "off") {
      return;
    }
    if (event.key === "/") {
      const field = document.querySelector(".find input");
      if (field) {
        event.preventDefault();
        field.focus();
        field.select();
      }
    } else if (event.key === "?") {
      document.querySelector("#keys-help")?.click();
    }
  }

  document.addEventListener("keydown", (event) => {
    const at = event.target;
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) {
      return;
    }
    if (at.matches?.("input[type=search]")) {
      enterList(event);
    } else if (at.closest?.(".rows > .row") && !at.matches("select, textarea, input:not([type=checkbox])")) {
      step(event, at);
    }
    if (!event.defaultPrevented && !at.matches?.(TYPED_IN)) {
      single(event);
    }
  });
})();
