// An entry: what a form says, made and sealed on the tablet with the time, before anything is sent.
(function () {
  "use strict";
  var page = document.body.dataset, stale = "asOf" in page;
  if (!window.outbox) return;

  function hex(bytes) { return Array.from(new Uint8Array(bytes), function (b) { return b.toString(16).padStart(2, "0"); }).join(""); }
  function freshKey() { return hex(crypto.getRandomValues(new Uint8Array(16))); }
  function stamp() { return new Date().toISOString(); }
  function bytesOf(text) { return Uint8Array.from(text.match(/../g), function (pair) { return parseInt(pair, 16); }); }
  function tidy(value) { return value.replace(/\r\n?/g, "\n"); }
  function fieldsOf(form, button) {
    return Array.from(new FormData(form)).concat(button && button.name ? [[button.name, button.value]] : []).filter(function (pair) {
      return pair[0] !== "csrfmiddlewaretoken" && (typeof pair[1] === "string" || pair[1].name || pair[1].size);
    }).map(function (pair) { return [pair[0], typeof pair[1] === "string" ? tidy(pair[1]) : pair[1]]; });
  }
  async function sealOf(entry) {
    var told = [];
    for (var pair of entry.fields) {
      told.push([pair[0], typeof pair[1] === "string" ? pair[1] : hex(await crypto.subtle.digest("SHA-256", await pair[1].arrayBuffer()))]);
    }
    told.sort(function (a, b) { return a[0] < b[0] ? -1 : a[0] > b[0] ? 1 : 0; });
    var key = await crypto.subtle.importKey("raw", bytesOf(page.key), { name: "HMAC", hash: "SHA-256" }, false, ["sign"]);
    var text = JSON.stringify([entry.key, new URL(entry.url).pathname, entry.captured, told]);
    return hex(await crypto.subtle.sign("HMAC", key, new TextEncoder().encode(text)));
  }
  async function capture(form, button) {
    var captured = stamp(), once = form.elements.once_key;
    if (!once) throw new Error("no key");
    if (stale || !once.value) once.value = freshKey(); // the key of an old page may have been used already
    var entry = {
      key: once.value, url: form.action.split("#")[0], page: location.href, fields: fieldsOf(form, button), captured: captured,
      who: page.who, name: page.name, token: page.token, label: labelOf(form, button), said: saidOf(form), state: "kept",
      confirm: localStorage.getItem("outbox-idle") === "1", instead: new URLSearchParams(location.hash.slice(1)).get("instead-of") || "",
    };
    entry.seal = await sealOf(entry);
    entry.n = await window.outbox.add(entry);
    return entry;
  }
  function words(element) {
    var copy = element.cloneNode(true);
    copy.querySelectorAll(".may, .unseen").forEach(function (part) { part.remove(); });
    return copy.textContent.replace(/\s+/g, " ").trim();
  }
  // "Shaken, K7": the button, and the jar, the place or the batch it is about.
  function labelOf(form, button) {
    var about = form.closest("[data-of]"), group = button && button.closest("fieldset");
    var what = (group && group.querySelector("legend") ? words(group.querySelector("legend")) + ": " : "") + ((button && words(button)) || "Entry");
    return (what + ", " + (about ? about.dataset.of : document.title.split(" · ")[0])).slice(0, 200);
  }
  // What a person typed or chose, under the words that stand beside it on the page.
  function saidOf(form) {
    var told = [];
    Array.from(form.elements).forEach(function (field) {
      if (!field.name || field.type === "hidden" || !field.matches("input, select, textarea")) return;
      var own = field.labels && field.labels[0] ? words(field.labels[0]) : field.getAttribute("aria-label") || "";
      var group = field.closest("fieldset"), over = group && group.querySelector("legend") ? words(group.querySelector("legend")) : "";
      if (field.type === "checkbox" || field.type === "radio") {
        if (field.checked) told.push(over ? [over, own] : [own, "yes"]);
      } else if (field.type === "file") {
        Array.from(field.files).forEach(function (file) { told.push([own, file.name]); });
      } else if (field.value) {
        told.push([own || over, field.tagName === "SELECT" ? words(field.selectedOptions[0]) : field.value]);
      }
    });
    return told;
  }

  window.outbox.make = capture;
  window.outbox.freshKey = freshKey;
  window.outbox.stamp = stamp;
})();
