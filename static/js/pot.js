// The pot at work: the screen stays awake, what the pot calls out is heard and told, nothing typed is disturbed.
// Without this file the page is a form beside a picture.
(function () {
  "use strict";
  var CALL_EVERY = 20000;
  var told = new Set(), sound = null, lock = null;
  var wanted = function () { var box = document.getElementById("pot-sound"); return box && box.checked; };
  var muted = false; // the switch's state outlives the part it stands in

  function say(id, words) {
    var line = document.getElementById(id);
    if (line && line.textContent !== words) line.textContent = words;
  }

  // ---- awake
  function stayAwake() {
    if (document.visibilityState !== "visible") return;
    if (!navigator.wakeLock) return say("pot-awake", "This browser may let the screen sleep: set the tablet to stay on.");
    navigator.wakeLock.request("screen").then(function (got) {
      lock = got;
      say("pot-awake", "The screen stays on.");
      got.addEventListener("release", function () { lock = null; });
    }, function () { say("pot-awake", "The tablet lets the screen sleep when its battery is low: plug it in."); });
  }
  document.addEventListener("visibilitychange", function () { if (!lock) stayAwake(); });

  // ---- sound, our own: two strokes as on a small kettle lid; three and higher when it is dangerous
  function awaken() {
    var Context = window.AudioContext || window.webkitAudioContext;
    if (!Context) return;
    if (!sound) sound = new Context();
    if (sound.state === "suspended") sound.resume();
  }
  document.addEventListener("pointerdown", awaken); // browsers want a tap before they let a page sound
  document.addEventListener("keydown", awaken);

  function stroke(at, pitch) {
    var tone = sound.createOscillator(), loud = sound.createGain();
    tone.type = "triangle";
    tone.frequency.setValueAtTime(pitch, at);
    loud.gain.setValueAtTime(0.0001, at);
    loud.gain.exponentialRampToValueAtTime(0.4, at + 0.01);
    loud.gain.exponentialRampToValueAtTime(0.0001, at + 0.5);
    tone.connect(loud).connect(sound.destination);
    tone.start(at);
    tone.stop(at + 0.55);
  }
  function call(danger) {
    if (muted || !sound || sound.state !== "running") return;
    var now = sound.currentTime;
    (danger ? [880, 660, 880] : [587, 440]).forEach(function (pitch, i) { stroke(now + i * 0.35, pitch); });
    document.body.dataset.called = String(Number(document.body.dataset.called || 0) + 1);
  }

  // ---- what the pot calls out: each once in words, and by sound until it is seen to
  function calls() { return Array.prototype.slice.call(document.querySelectorAll("#pot-now [data-alarm]")); }
  function listen() {
    var standing = calls();
    var fresh = standing.filter(function (one) { return !told.has(one.dataset.alarm); });
    told = new Set(standing.map(function (one) { return one.dataset.alarm; }));
    if (!fresh.length) return;
    say("pot-says", fresh.map(function (one) { return one.textContent.trim(); }).join(" "));
    call(fresh.some(function (one) { return one.matches(".danger"); }));
  }
  window.setInterval(function () {
    var standing = calls();
    if (standing.length) call(standing.some(function (one) { return one.matches(".danger"); }));
  }, CALL_EVERY);

  // ---- the switch is there only where it does something
  function settle() {
    var line = document.getElementById("pot-sound-line"), box = document.getElementById("pot-sound");
    if (line) line.hidden = !(window.AudioContext || window.webkitAudioContext);
    if (box) box.checked = !muted;
    stayAwake();
    listen();
  }
  document.addEventListener("change", function (event) { if (event.target.id === "pot-sound") muted = !wanted(); });

  // ---- the part that reads itself anew waits while somebody reads a working in it
  document.addEventListener("htmx:beforeRequest", function (event) {
    var part = event.detail.elt;
    if (part.id === "pot-now" && part.querySelector("details[open]")) event.preventDefault();
  });
  ["htmx:sendError", "htmx:responseError", "htmx:timeout"].forEach(function (name) {
    document.addEventListener(name, function (event) {
      if (event.detail.elt.id !== "pot-now") return;
      say("pot-heard", "; since then the workshop's computer does not answer. Read the pot by eye and write it down");
    });
  });

  // ---- without Wi-Fi an act goes the way of every other: into the outbox, under the key it already had
  function toOutbox(form) {
    var plain = form.cloneNode(true); // what is typed goes along; what listened to the form does not
    ["hx-post", "hx-target", "hx-swap"].forEach(function (name) { plain.removeAttribute(name); });
    plain.querySelectorAll(".keypad-home").forEach(function (home) { home.replaceChildren(); });
    form.replaceWith(plain);
    document.dispatchEvent(new Event("keypad:look"));
    plain.requestSubmit();
  }
  function isAct(el) { return el.matches && el.matches("form[data-outbox][hx-post]"); }
  document.addEventListener("htmx:beforeRequest", function (event) {
    if (navigator.onLine || !isAct(event.detail.elt)) return;
    event.preventDefault();
    toOutbox(event.detail.elt);
  });
  document.addEventListener("htmx:sendError", function (event) {
    if (isAct(event.detail.elt)) toOutbox(event.detail.elt);
  });
  document.addEventListener("htmx:afterSettle", settle);
  settle();
})();
