// The entries that wait on this tablet, in the order in which they were made.
(function () {
  "use strict";
  var who = document.body.dataset.who;
  if (!who || !window.indexedDB || !window.crypto || !crypto.subtle) return;

  var opened = null;
  function open() {
    opened = opened || new Promise(function (yes, no) {
      var asked = indexedDB.open("outbox", 1);
      asked.onupgradeneeded = function () {
        asked.result.createObjectStore("entries", { keyPath: "n", autoIncrement: true }).createIndex("key", "key", { unique: true });
      };
      asked.onsuccess = function () { yes(asked.result); };
      asked.onerror = asked.onblocked = function () { opened = null; no(asked.error); };
    });
    return opened;
  }
  function store(mode, work) {
    return open().then(function (db) {
      return new Promise(function (yes, no) {
        var change = db.transaction("entries", mode, { durability: "strict" }), asked = work(change.objectStore("entries"));
        change.oncomplete = function () { yes(asked && asked.result); };
        change.onerror = change.onabort = function () { no(change.error); };
      });
    });
  }
  function all() { return store("readonly", function (s) { return s.getAll(); }); }
  function add(entry) { return store("readwrite", function (s) { return s.add(entry); }).then(function (n) { tellTabs(); return n; }); }
  function put(entry) { return store("readwrite", function (s) { return s.put(entry); }).then(tellTabs); }
  function remove(entry) { return store("readwrite", function (s) { return s.delete(entry.n); }).then(tellTabs); }
  var tabs = window.BroadcastChannel ? new BroadcastChannel("outbox") : null;
  function tellTabs() { if (tabs) tabs.postMessage("changed"); changed(false); }
  function changed(elsewhere) { document.dispatchEvent(new CustomEvent("outbox-changed", { detail: { elsewhere: elsewhere } })); }
  if (tabs) tabs.onmessage = function () { changed(true); };

  window.outbox = { who: who, all: all, add: add, put: put, remove: remove };
})();
