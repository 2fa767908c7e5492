// Big keys for wet and gloved hands: taps only, one decimal key with the workshop's mark. The field stays a
// field: a keyboard types into it as ever, and without this file there is no keypad. In glove mode every number
// gets one at the foot of the screen; a page may give it a home of its own, [data-keypad] with .keypad-home.
(function () {
  "use strict";
  var NUMBERS = "input[inputmode=decimal], input[inputmode=numeric]";
  var mark = document.body.dataset.mark || ".";
  var field = null, floor = null;

  function key(words, act, label, wide) {
    var one = document.createElement("button");
    one.type = "button";
    one.tabIndex = -1; // who has a keyboard types
    one.className = "key" + (wide ? " wide" : "");
    one.textContent = words;
    if (label) one.setAttribute("aria-label", label);
    one.addEventListener("pointerdown", function (event) { event.preventDefault(); }); // the field keeps the focus
    one.addEventListener("click", function () { if (field) act(field); });
    return one;
  }

  function changed(input) { input.dispatchEvent(new Event("input", { bubbles: true })); }

  function put(sign) {
    return function (input) {
      var start = input.selectionStart, end = input.selectionEnd;
      var rest = input.value.slice(0, start) + input.value.slice(end);
      if (sign === mark && (rest.indexOf(mark) >= 0 || input.inputMode === "numeric" || input.dataset.whole)) return;
      input.setRangeText(sign, start, end, "end");
      changed(input);
    };
  }

  function back(input) {
    var start = input.selectionStart, end = input.selectionEnd;
    if (start === end) start = Math.max(0, start - 1);
    input.setRangeText("", start, end, "end");
    changed(input);
  }

  // A unit is typed in letters: the device's own keyboard comes for this field.
  function letters(input) {
    input.dataset.letters = "1";
    input.inputMode = "text";
    leave();
    input.blur();
    input.focus();
  }

  function pad(cls) {
    var home = document.createElement("div");
    home.className = "keypad " + cls;
    home.setAttribute("role", "group");
    home.setAttribute("aria-label", "Keys for numbers");
    "123456789".split("").forEach(function (sign) { home.append(key(sign, put(sign))); });
    home.append(key(mark, put(mark), mark === "," ? "decimal comma" : "decimal point"), key("0", put("0")));
    home.append(key("⌫", back, "Take the last away"));
    home.append(key("abc", letters, "Letters, for a unit"));
    return home;
  }

  function leave() {
    if (floor) floor.hidden = true;
    document.documentElement.classList.remove("keyed");
  }

  function take(input) {
    field = input;
    if (input.dataset.letters) return leave();
    if (input.inputMode === "numeric") input.dataset.whole = "1";
    input.inputMode = "none"; // the device's keyboard would cover the page
    input.select(); // the first key takes the place of what stood there
    if (input.closest("[data-keypad]")) return leave();
    if (!floor) {
      floor = pad("at-foot");
      floor.append(key("Done", function (at) { leave(); at.blur(); }));
      document.body.append(floor);
    }
    floor.hidden = false;
    document.documentElement.classList.add("keyed");
    input.scrollIntoView({ block: "center" });
  }

  function wants(el) {
    return el && el.matches && el.matches(NUMBERS + ", input[inputmode=none], input[data-letters]") &&
      (el.closest("[data-keypad]") || document.body.classList.contains("glove"));
  }

  // A home of its own: the keys stand there from the start and type into the first field until another is tapped.
  function settle() {
    document.querySelectorAll("[data-keypad] .keypad-home:empty").forEach(function (home) {
      home.append(pad("at-home"));
      var inputs = home.closest("[data-keypad]").querySelectorAll(NUMBERS + ", input[inputmode=none]");
      inputs.forEach(function (input) { input.inputMode = "none"; });
      var first = home.closest("[data-keypad]").querySelector("[aria-invalid=true]") || inputs[0];
      if (first) aim(first);
    });
  }

  function aim(input) {
    field = input;
    document.querySelectorAll(".box.aimed").forEach(function (box) { box.classList.remove("aimed"); });
    var box = input.closest(".box");
    if (box && input.closest("[data-keypad]")) box.classList.add("aimed");
  }

  document.addEventListener("focusin", function (event) {
    if (wants(event.target)) { aim(event.target); take(event.target); }
    else if (!event.target.closest || !event.target.closest(".keypad")) leave();
  });
  document.addEventListener("keypad:look", settle);
  document.addEventListener("htmx:afterSwap", settle); // at once: a finger may be on its way
  settle();
})();
