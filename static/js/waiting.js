// The entries on this tablet, each with what can be done about it.
(function () {
  "use strict";
  var box = window.outbox, room = document.getElementById("waiting-here");
  if (!box || !room) return;
  function el(tag, words, className) {
    var made = document.createElement(tag);
    if (words) made.textContent = words;
    if (className) made.className = className;
    return made;
  }
  function button(words, act) {
    var made = el("button", words, "act other");
    made.type = "button";
    made.addEventListener("click", act);
    return made;
  }
  function stateOf(entry) {
    if (entry.state === "refused") return "Not taken: " + entry.reason;
    if (entry.who !== box.who) return "On this tablet. Waits for " + entry.name + " to sign in here.";
    if (entry.confirm) return "On this tablet. The tablet lay idle before it was made: person to confirm.";
    return "On this tablet. It is sent as soon as it can be.";
  }
  function typed(entry) {
    var list = el("dl", "", "facts");
    saidOf(entry).forEach(function (pair) {
      var row = el("div");
      row.append(el("dt", pair[0]), el("dd", pair[1]));
      list.append(row);
    });
    return list.children.length ? list : "";
  }
  function saidOf(entry) { // an entry made before its page said so shows its fields as they were sent
    return entry.said || entry.fields.filter(function (pair) { return typeof pair[1] === "string" && pair[0] !== "once_key" && pair[0] !== "back"; });
  }
  function when(time) {
    return new Date(time).toLocaleString("en-GB", { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
  }
  function again(entry) {
    var link = el("a", "Send again, corrected", "act other");
    link.href = entry.page.split("#")[0] + "#instead-of=" + entry.key;
    return link;
  }
  // Given up: the server keeps the entry and the reason before the tablet lets go of it.
  function giveUp(entry) {
    var form = el("form"), field = el("div", "", "field"), label = el("label", "Reason for giving it up"), frame = el("div", "", "box");
    var input = el("input"), says = el("div", "", "says"), id = "why-" + entry.n;
    label.htmlFor = input.id = id;
    input.maxLength = 300;
    input.autocomplete = "off";
    input.required = true;
    form.dataset.outbox = "off";
    frame.append(input);
    field.append(label, frame, says);
    form.append(field, el("button", "Give it up", "act other"));
    form.addEventListener("submit", function (event) {
      event.preventDefault();
      settle(entry, input.value).then(function (done) { if (!done) says.textContent = "This needs the Wi-Fi: the reason is kept by the server."; });
    });
    return form;
  }
  async function settle(entry, why) {
    try {
      var ready = await box.standing();
      var body = new URLSearchParams({
        key: entry.key, why: why, once_key: entry.key + "-up", label: entry.label, path: new URL(entry.url).pathname,
        typed: JSON.stringify(saidOf(entry)),
      });
      var response = ready && await box.ask("/waiting/", { method: "POST", headers: { "X-CSRFToken": ready.csrf }, body: body });
      if (!response || (response.type !== "opaqueredirect" && !response.ok)) return false;
      await box.remove(entry);
      location.reload();
      return true;
    } catch { return false; }
  }
  async function list() {
    var entries = await box.all();
    room.replaceChildren.apply(room, entries.length ? entries.map(function (entry) {
      var item = el("article", "", "waiting-entry");
      item.append(el("h3", entry.label), el("p", stateOf(entry)), el("p", "Made " + when(entry.captured) + " by " + entry.name, "when"), typed(entry));
      if (entry.state === "refused" && entry.who === box.who) item.append(again(entry));
      if (entry.confirm && entry.who === box.who && entry.state === "kept") item.append(button("Yes, this is mine: send it", async function () {
        entry.confirm = false;
        entry.confirmed = true;
        localStorage.removeItem("outbox-idle");
        await box.put(entry);
        box.flush();
      }));
      if (entry.who === box.who && (entry.confirm || entry.state === "refused")) item.append(giveUp(entry));
      return item;
    }) : [el("p", "Nothing waits on this tablet.")]);
    once(entries);
    window.keptPages.mark(room);
  }
  // What was refused stands here and with the server: once on the page.
  function once(entries) {
    var part = document.getElementById("waiting-refused"), theirs = part.querySelectorAll("[data-key]"), left = theirs.length;
    theirs.forEach(function (item) {
      item.hidden = entries.some(function (entry) { return entry.key === item.dataset.key; });
      if (item.hidden) left -= 1;
    });
    part.hidden = !left && entries.some(function (entry) { return entry.state === "refused"; });
  }
  document.addEventListener("outbox-changed", list);
  list();
})();
