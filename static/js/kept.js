// The pages that open without Wi-Fi: the service worker that keeps them, whose they are, and which are there.
(function () {
  "use strict";
  var page = document.body.dataset, away = document.querySelector("[data-away]");
  if ("serviceWorker" in navigator && window.isSecureContext) startWorker();
  if (page.who || !away) forgetPages(page.who || "");

  function forgetPages(who) {
    if (!window.caches) return;
    caches.keys().then(function (names) {
      names.forEach(function (name) { if (name.startsWith("pages-") && name !== "pages-" + who) caches.delete(name); });
    }).catch(function () {});
  }
  function startWorker() {
    var before = navigator.serviceWorker.controller;
    navigator.serviceWorker.register("/sw.js", { scope: "/" }).then(function () { return navigator.serviceWorker.ready; }).then(function () {
      if (before || !window.caches) return;
      if (navigator.storage && navigator.storage.persist) navigator.storage.persist();
      var pieces = Array.from(document.querySelectorAll("link[rel=stylesheet],link[rel=icon],script[src]"), function (one) { return one.href || one.src; });
      return caches.open("pieces").then(function (cache) {
        return Promise.all(pieces.map(function (url) { return cache.add(url).catch(function () {}); }));
      });
    }).catch(function () {});
  }

  // --- what is there
  async function keptHere() {
    var names = (await caches.keys()).filter(function (name) { return name.startsWith("pages-"); });
    return names.length === 1 ? caches.open(names[0]) : null; // of two people nothing is shown
  }
  // A link to a page that is not here says that it leads nowhere, and a tap on it says why.
  async function mark(room) {
    var cache = await keptHere(), there = cache ? (await cache.keys()).map(function (one) { return one.url; }) : [];
    room.querySelectorAll("a[href]").forEach(function (link) {
      var url = link.href.split("#")[0];
      var gone = link.origin === location.origin && url !== location.href.split("#")[0] && there.indexOf(url) < 0;
      link.classList.toggle("not-here", gone);
      if (gone) link.setAttribute("aria-disabled", "true"); else link.removeAttribute("aria-disabled");
    });
  }
  document.addEventListener("click", function (event) {
    var link = event.target.closest("a.not-here"), strip = document.getElementById("outbox");
    if (!link || navigator.onLine || !strip) return;
    event.preventDefault();
    strip.dataset.state = "kept";
    strip.textContent = "No Wi-Fi: “" + link.textContent.trim() + "” was not opened here before, so it is not on this tablet.";
  });
  // In place of a page that is not here: those that are, the daily ones first.
  async function list(room) {
    var cache = await keptHere(), found = [];
    for (var request of cache ? await cache.keys() : []) {
      var url = new URL(request.url), answer = await cache.match(request);
      if (url.search) continue; // the same page, looked at otherwise
      var title = new DOMParser().parseFromString(await answer.text(), "text/html").title.split(" · ")[0];
      found.push({ path: url.pathname, title: title, asOf: answer.headers.get("X-As-Of") });
    }
    found.sort(function (a, b) { return a.path.length - b.path.length || (a.path < b.path ? -1 : 1); });
    room.querySelector("ul").replaceChildren.apply(room.querySelector("ul"), found.map(function (one) {
      var item = document.createElement("li"), link = document.createElement("a"), when = document.createElement("span");
      link.href = one.path;
      link.textContent = one.title;
      when.textContent = "as of " + one.asOf;
      item.append(link, when);
      return item;
    }));
    room.hidden = !found.length;
  }
  window.keptPages = { mark: function (room) { if ("asOf" in page && window.caches) mark(room).catch(function () {}); } };
  window.keptPages.mark(document);
  if (away && window.caches) list(document.getElementById("kept-here")).catch(function () {});
})();
