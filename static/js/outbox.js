// What is entered at the bench is kept on the tablet before it is sent, and until the server has answered.
// Without this file every form is sent by the browser itself.
(function () {
  "use strict";
  var box = window.outbox, page = document.body.dataset, strip = document.getElementById("outbox");
  var EVERY = 20000, DOUBLE_TAP = 1500, PATIENCE = 30000, HOUR = 3600000;
  if (!box) return;
  var all = box.all, put = box.put, remove = box.remove;
  var bench = new RegExp(page.waits || "^$"), stale = "asOf" in page, offline = stale;

  // --- sending
  var online = function (response) { offline = false; return response; };
  function ask(url, settings) {
    var limit = new AbortController(), timer = setTimeout(function () { limit.abort(); }, PATIENCE);
    settings.headers = Object.assign(settings.hand ? {} : { "X-Quiet": "1" }, settings.headers); // no hand, no sign of life
    settings = Object.assign({ credentials: "same-origin", redirect: "manual", cache: "no-store", signal: limit.signal }, settings);
    return fetch(url, settings).then(online, function (error) { offline = true; throw error; }).finally(function () { clearTimeout(timer); });
  }
  function send(entry, ready, atHand) {
    var form = new FormData();
    entry.fields.forEach(function (pair) { form.append(pair[0], pair[1]); });
    var headers = {
      "Idempotency-Key": entry.key, "X-Captured-At": entry.captured, "X-Sent-At": box.stamp(), "X-Capture-Token": entry.token,
      "X-Capture-Seal": entry.seal, "X-CSRFToken": ready.csrf,
      "X-Label": JSON.stringify(entry.label).replace(/[^\x20-\x7e]/g, function (sign) { return "\\u" + sign.charCodeAt(0).toString(16).padStart(4, "0"); }),
    };
    if (!atHand) headers["X-Replay"] = "1";
    if (entry.confirmed) headers["X-Confirmed"] = "1";
    if (entry.instead) headers["X-Instead-Of"] = entry.instead;
    return ask(entry.url, { method: "POST", headers: headers, body: form, hand: atHand });
  }
  // One at a time over all tabs; each entry in its turn. Ends with what became of `atHand`.
  function flush(atHand) {
    var run = function (lock) { return lock === null ? undefined : flushNow(atHand); };
    if (!navigator.locks) return flushNow(atHand);
    return navigator.locks.request("outbox", { ifAvailable: !atHand }, run);
  }
  function mayGo(entry, ready) { return entry.state === "kept" && !entry.confirm && entry.who === ready.who; }
  async function flushNow(atHand) {
    var entries = await all(), outcome;
    if (!entries.some(function (entry) { return entry.state === "kept"; })) return report(entries);
    var alone = atHand && !stale && entries.every(function (entry) { return entry.n === atHand.n || entry.state !== "kept"; });
    try {
      var ready = alone ? { who: page.who, csrf: page.csrf } : await standing();
      if (!ready) return undefined;
      for (var entry of entries) {
        if (!mayGo(entry, ready)) continue;
        say("sending", "Sending: " + entry.label + ".");
        var here = atHand && entry.n === atHand.n, result = await deliver(entry, ready, here);
        if (here && alone && result.status === 403) { // the page's token is older than the last sign-in in another tab
          ready = await standing();
          if (!ready || !mayGo(entry, ready)) break;
          result = await deliver(entry, ready, here);
        }
        if (here) outcome = result;
        if (result.stop) break;
      }
    } catch { /* no Wi-Fi: all of it stays, in its order */ }
    await report(await all());
    show();
    return outcome;
  }
  async function standing() {
    var response = await ask("/outbox/", { headers: { Accept: "application/json" } });
    if (response.ok) return response.json();
    say("kept", "Sign in to send what waits on this tablet.");
    return null;
  }
  async function deliver(entry, ready, atHand) {
    var response = await send(entry, ready, atHand), json = (response.headers.get("Content-Type") || "").startsWith("application/json");
    if (response.ok && json) {
      var saved = await response.json();
      if (saved.state !== "saved") return { stop: true };
      await remove(entry);
      if (entry.instead) await settled([entry.instead]);
      say("saved", "Saved: " + entry.label + ".");
      return { saved: saved };
    }
    if (response.type === "opaqueredirect" || response.status < 400 || response.status === 401 || response.status === 403 || response.status >= 500) {
      return { stop: true, status: response.status, html: response.status === 403 && atHand && !json ? await response.text() : "" };
    }
    if (atHand && !json) return { refused: await response.text() };
    entry.state = "refused";
    entry.reason = json ? (await response.json()).reason : "The server did not take it (" + response.status + ").";
    await put(entry);
    return {};
  }
  async function settled(keys) {
    for (var entry of await all()) if (entry.state === "refused" && keys.indexOf(entry.key) >= 0) await remove(entry);
  }
  // How many wait here is told to the server, which shows the owner; it tells which refused ones were settled.
  var told = "";
  async function report(entries) {
    var kept = entries.filter(function (entry) { return entry.state === "kept"; });
    var refused = entries.filter(function (entry) { return entry.state === "refused"; });
    var now = JSON.stringify([kept.map(function (entry) { return entry.n; }), refused.map(function (entry) { return entry.n; })]);
    var before = told || localStorage.getItem("outbox-told") || "[[],[]]";
    if (offline || (now === before && !refused.length)) return;
    var form = new URLSearchParams({ browser: browserId(), count: kept.length, since: kept.length ? kept[0].captured : "" });
    refused.forEach(function (entry) { form.append("refused", entry.key); });
    try {
      var ready = stale ? await standing() : { csrf: page.csrf };
      var response = ready && await ask("/outbox/", { method: "POST", headers: { "X-CSRFToken": ready.csrf }, body: form });
      if (!response || !response.ok) return;
      told = now;
      localStorage.setItem("outbox-told", now);
      await settled((await response.json()).settled);
    } catch { /* next time */ }
  }
  function browserId() {
    var id = localStorage.getItem("outbox-browser") || box.freshKey();
    localStorage.setItem("outbox-browser", id);
    return id;
  }

  // --- what is said
  function say(state, words, link) {
    if (!strip) return;
    strip.dataset.state = state;
    strip.textContent = words;
    if (!link || location.pathname === "/waiting/") return;
    var a = document.createElement("a");
    a.href = "/waiting/";
    a.textContent = "Waiting entries";
    strip.append(" ", a);
  }
  function many(number) { return number === 1 ? "1 entry is" : number + " entries are"; }
  async function show() {
    var entries = await all().catch(function () { return []; });
    var kept = entries.filter(function (entry) { return entry.state === "kept"; }), bad = entries.length - kept.length;
    var confirm = kept.filter(function (entry) { return entry.confirm; }).length;
    var theirs = kept.filter(function (entry) { return entry.who !== page.who; });
    if (!entries.length) { if (strip && strip.dataset.state !== "saved") say("", ""); return; }
    var age = kept.length ? Date.now() - Date.parse(kept[0].captured) : 0, words = [];
    if (kept.length) words.push(many(kept.length) + " on this tablet, not sent yet.");
    if (theirs.length) words.push("Of " + theirs[0].name + ": sent when they sign in here.");
    if (confirm) words.push(many(confirm) + " for the person to confirm.");
    if (bad) words.push((bad === 1 ? "1 entry was" : bad + " entries were") + " not taken.");
    say(age > 24 * HOUR ? "red" : bad || age > HOUR ? "amber" : "kept", words.join(" "), true);
  }

  // --- at the form
  function isBench(form, button) {
    if (form.method !== "post" || form.dataset.outbox === "off" || (button && button.formNoValidate && button.name)) return false;
    return form.hasAttribute("data-outbox") || bench.test(new URL(form.action).pathname);
  }
  document.addEventListener("submit", function (event) {
    var form = event.target, button = event.submitter;
    if (event.defaultPrevented || form.hasAttribute("hx-post")) return;
    if (!isBench(form, button)) {
      if (form.method === "post" && !navigator.onLine) {
        event.preventDefault();
        say("kept", "No Wi-Fi: this cannot be sent now, and nobody can sign in or change places. What you typed stays here.");
      }
      return;
    }
    event.preventDefault();
    if (form.dataset.busy) return; // a double tap
    form.dataset.busy = "1";
    enter(form, button).finally(function () { setTimeout(function () { delete form.dataset.busy; }, DOUBLE_TAP); });
  });
  async function enter(form, button) {
    var entry;
    try {
      entry = await box.make(form, button);
    } catch (error) {
      if (error && error.name === "ConstraintError") { show(); return; } // this very form waits already
      sendItself(form, button);
      return;
    }
    say("kept", "On this tablet: " + entry.label + ".");
    var outcome = await flush(entry) || {};
    if (outcome.saved) go(outcome.saved.url);
    else if (outcome.refused || outcome.html) await swap(outcome.refused || outcome.html, entry);
    else kept(form, entry);
  }
  function sendItself(form, button) {
    if (button && button.name) {
      var more = document.createElement("input");
      more.type = "hidden"; more.name = button.name; more.value = button.value;
      form.append(more);
    }
    form.submit();
  }
  function go(url) {
    if (url.split("#")[0] === location.pathname + location.search) location.reload();
    else location.assign(url);
  }
  // The entry waits; the form is free for the next one, under a key of its own.
  function kept(form, entry) {
    form.reset();
    form.elements.once_key.value = box.freshKey();
    show().then(function () {
      if (strip && entry.confirm) return;
      say(strip ? strip.dataset.state : "", "On this tablet: " + entry.label + ". It is sent as soon as it can be.", true);
    });
  }
  // Refused while the person stands here: the server's page with what was typed, in place of this one.
  async function swap(html, entry) {
    var fresh = new DOMParser().parseFromString(html, "text/html"), main = fresh.getElementById("main");
    if (!main) return;
    document.getElementById("main").replaceWith(document.importNode(main, true));
    document.title = fresh.title;
    main = document.getElementById("main");
    if (window.htmx) window.htmx.process(main);
    await remove(entry);
    show();
    var wrong = main.querySelector("[aria-invalid='true']") || main.querySelector("[role='alert']") || main;
    if (!wrong.matches("input,select,textarea,button")) wrong.tabIndex = -1;
    wrong.focus();
    window.scrollTo(0, Math.max(0, wrong.getBoundingClientRect().top + window.scrollY - 160));
  }
  // "Send again, corrected": the form opens with what the refused entry said.
  async function fill() {
    var key = new URLSearchParams(location.hash.slice(1)).get("instead-of");
    var entry = key && (await all()).find(function (one) { return one.key === key; });
    var form = entry && Array.from(document.querySelectorAll("main form")).find(function (one) { return one.action.split("#")[0] === entry.url; });
    if (!form) return;
    entry.fields.forEach(function (pair) {
      var field = form.elements[pair[0]];
      if (pair[0] === "once_key" || !field || typeof pair[1] !== "string") return;
      if (field.type === "checkbox") field.checked = true; else field.value = pair[1];
    });
    say("kept", "As it was sent: " + entry.reason);
  }

  // --- an idle tablet without Wi-Fi: who goes on with it has to say so later
  function touched() {
    var now = Date.now(), before = Number(localStorage.getItem("outbox-touched") || now);
    if (now - before > Number(page.idle) * 1000 && (offline || !navigator.onLine)) localStorage.setItem("outbox-idle", "1");
    if (now - before > 2000 || now === before) localStorage.setItem("outbox-touched", now);
  }
  if (!stale) { localStorage.removeItem("outbox-idle"); localStorage.setItem("outbox-touched", Date.now()); }
  addEventListener("pointerdown", touched, true);
  addEventListener("keydown", touched, true);

  // Wi-Fi went while the page was open, and a part of it could not be fetched.
  document.addEventListener("htmx:sendError", function () {
    offline = true;
    if (strip && !strip.textContent) say("kept", "No Wi-Fi: this part could not be fetched.");
  });

  Object.assign(box, { flush: flush, ask: ask, standing: standing });
  document.addEventListener("outbox-changed", function (event) { if (event.detail.elsewhere) show(); });
  addEventListener("online", function () { flush(); });
  addEventListener("pageshow", function (event) { if (event.persisted) location.reload(); else flush(); });
  document.addEventListener("visibilitychange", function () { if (!document.hidden) flush(); });
  setInterval(function () { flush(); }, EVERY);
  show();
  fill();
  flush();
})();
