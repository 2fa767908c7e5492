// The pages of a shared tablet: codes and badges. Every page works without this file.
(function () {
  "use strict";
  // The code of a scanned address stands behind its #, so that it never travels in an address.
  var enrol = document.querySelector("form[data-code-from-address]");
  if (enrol && window.location.hash.length > 1) {
    enrol.querySelector("input[name=code]").value = window.location.hash.slice(1);
    window.history.replaceState(null, "", window.location.pathname);
  }
})();
