// The wall says at once when nobody answers, and stays awake where the browser lets it. Without this file
// the page loads itself anew, and the stylesheet says when the answer is old.
(function () {
  "use strict";
  var root = document.documentElement;
  function silent(is) { root.classList.toggle("silent", is); }

  ["htmx:sendError", "htmx:timeout", "htmx:responseError"].forEach(function (name) {
    document.addEventListener(name, function () { silent(true); });
  });
  document.addEventListener("htmx:beforeSwap", function (event) {
    // Signed out meanwhile: another page came than the wall's own part. It is shown as a page, not in here.
    if (event.detail.xhr.status === 200 && event.detail.xhr.responseText.indexOf('id="wall"') < 0) {
      event.detail.shouldSwap = false;
      window.location.reload();
    }
  });
  document.addEventListener("htmx:afterSwap", function () { silent(false); });
  window.addEventListener("offline", function () { silent(true); });
  window.addEventListener("online", function () {
    if (window.htmx) window.htmx.trigger("#wall", "again");
  });

  function awake() {
    if (navigator.wakeLock && document.visibilityState === "visible") navigator.wakeLock.request("screen").catch(function () {});
  }
  document.addEventListener("visibilitychange", awake);
  awake();
})();
