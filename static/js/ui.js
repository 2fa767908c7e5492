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

  // So it is with a whole page that comes back refused.
  var wrong = document.querySelector("main [aria-invalid='true']");
  if (wrong) wrong.focus();

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

  // A page that the browser kept may be the last person's: ask the server for it afresh.
  window.addEventListener("pageshow", function (event) {
    if (event.persisted) window.location.reload();
  });

  // What is typed and not yet saved is kept on the server, for the person alone. Never passwords or files.
  var keepAt = document.body.dataset.typed, changed = new Map();
  function keep(form, leaving) {
    window.clearTimeout(changed.get(form));
    changed.delete(form);
    var key = form.querySelector("input[data-draft]"), token = form.querySelector("input[name=csrfmiddlewaretoken]");
    if (!key || !token) return;
    var to = new URL(form.getAttribute("action") || window.location.href, window.location.href);
    var said = new FormData();
    new FormData(form).forEach(function (value, name) {
      var box = form.elements.namedItem(name);
      if (typeof value === "string" && !(box && box.type === "password")) said.append(name, value);
    });
    said.set("once_key", key.value);
    said.set("typed-to", to.pathname);
    said.set("typed-page", window.location.pathname + window.location.search);
    said.set("typed-form", key.dataset.draft);
    window.fetch(keepAt, { method: "POST", body: said, credentials: "same-origin", keepalive: Boolean(leaving) }).catch(function () {});
  }
  function keepAll() { Array.from(changed.keys()).forEach(function (form) { keep(form, true); }); }
  if (keepAt) {
    ["input", "change"].forEach(function (kind) {
      document.addEventListener(kind, function (event) {
        var form = event.target.form;
        if (!form || !form.querySelector("input[data-draft]")) return;
        window.clearTimeout(changed.get(form));
        changed.set(form, window.setTimeout(function () { keep(form); }, 1000));
      });
    });
    document.addEventListener("submit", function (event) { if (changed.has(event.target)) keep(event.target, true); });
    window.addEventListener("pagehide", keepAll);
    document.addEventListener("visibilitychange", function () { if (document.hidden) keepAll(); });
  }

  // On a shared tablet the name is given up after quiet minutes. A page with data-awake in it never locks.
  var idle = Number(document.body.dataset.locks || 0) * 1000, leave = document.querySelector("form.not-you");
  if (idle && leave) {
    var touched = Date.now(), told = touched, token = leave.querySelector("input[name=csrfmiddlewaretoken]").value;
    ["pointerdown", "keydown", "input", "wheel"].forEach(function (kind) {
      document.addEventListener(kind, function () { touched = Date.now(); }, { passive: true });
    });
    window.setInterval(function () {
      var now = Date.now(), awake = document.querySelector("[data-awake]");
      if (awake) touched = now;
      if (now - touched >= idle) {
        touched = now;
        keepAll();
        leave.submit();
      } else if (touched > told && now - told >= 45000) {
        told = now;
        var life = new FormData();
        life.set("csrfmiddlewaretoken", token);
        window.fetch(document.body.dataset.here, { method: "POST", body: life, credentials: "same-origin" }).catch(function () {});
      }
    }, 5000);
  }
})();
