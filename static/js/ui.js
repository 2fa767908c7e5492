// Small upgrades. Every page works without this file.
(function () {
  "use strict";

  // After a part is swapped in, the focus is on what changed: the first thing wrong, else the part itself.
  // The keyboard and the screen reader then go on from there, not from the top of the page.
  function focusOn(part) {
    if (!part || !part.isConnected || part.contains(document.activeElement) && document.activeElement !== document.body) return;
    var target = part.querySelector("[aria-invalid='true']") || part.querySelector("[data-focus]") || part;
    if (!target.matches("a,button,input,select,textarea,summary,[tabindex]")) target.tabIndex = -1;
    target.focus({ preventScroll: target === part });
  }
  document.addEventListener("htmx:afterSwap", function (event) {
    if (event.detail.target.id === "said") return;
    var id = event.detail.target.id;
    var part = id ? document.getElementById(id) : event.detail.elt;
    if (part && part.hasAttribute("data-quiet")) return; // it follows the typing; the hand stays where it is
    window.setTimeout(function () { focusOn(part); }, 0);
  });

  // A refusal comes as 422 with the form in it: show it like any other answer.
  document.addEventListener("htmx:beforeSwap", function (event) {
    if (event.detail.xhr.status === 422) {
      event.detail.shouldSwap = true;
      event.detail.isError = false;
    }
  });

  // One sheet of a kind open at a time; Escape closes the one the hand is in and returns to its summary.
  function close(details) {
    details.open = false;
    details.querySelector("summary").focus();
  }
  document.addEventListener("keydown", function (event) {
    if (event.key !== "Escape") return;
    var inside = document.activeElement && document.activeElement.closest("details[open]");
    if (inside) close(inside);
  });
  document.addEventListener("click", function (event) {
    document.querySelectorAll("details.person[open]").forEach(function (menu) {
      if (!menu.contains(event.target)) menu.open = false;
    });
  });

  // What was said by a part (header HX-Trigger: {"said": "Shaken."}) lands in the status region as text.
  document.addEventListener("said", function (event) {
    var region = document.getElementById("said");
    if (!region || !event.detail || !event.detail.value) return;
    var line = document.createElement("div");
    line.className = "said";
    line.textContent = String(event.detail.value);
    region.replaceChildren(line);
  });
})();
