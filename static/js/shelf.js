// A tapped vessel comes into the hand beside the shelf without a new page. Without this file it is a link.
(function () {
  "use strict";
  document.addEventListener("click", function (event) {
    var vessel = event.target.closest && event.target.closest("#shelf-drawing a.vessel");
    if (!vessel || !window.htmx || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    var url = vessel.getAttribute("href").split("#")[0];
    event.preventDefault();
    window.htmx.ajax("GET", url, { target: "#sheet", swap: "innerHTML" }).then(function () {
      if (window.matchMedia("(max-width: 999px)").matches) document.getElementById("sheet").scrollIntoView({ block: "nearest" });
    });
  });
})();
