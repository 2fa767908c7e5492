// The ways in at a shared tablet: codes, PINs, badges, passkeys. Every page works without this file.
(function () {
  "use strict";
  function every(selector, run) { document.querySelectorAll(selector).forEach(run); }

  // The code of a scanned address stands behind its #, so that it never travels in an address.
  every("form[data-code-from-address]", function (form) {
    if (window.location.hash.length < 2) return;
    form.querySelector("input[name=code]").value = window.location.hash.slice(1);
    window.history.replaceState(null, "", window.location.pathname);
  });

  // Six digits send themselves, typed or tapped.
  every("form[data-pin]", function (form) {
    var box = form.querySelector("input[name=pin]"), pad = form.querySelector("[data-pad]"), sent = false;
    function typed() {
      box.value = box.value.replace(/\D/g, "").slice(0, 6);
      if (box.value.length === 6 && !sent) { sent = true; form.requestSubmit(); }
    }
    pad.hidden = false;
    box.inputMode = "none";
    box.addEventListener("input", typed);
    pad.addEventListener("click", function (event) {
      var key = event.target.closest("button");
      if (!key) return;
      box.value = key.value ? box.value + key.value : "";
      typed();
    });
    window.addEventListener("pageshow", function () { box.value = ""; sent = false; });
    box.focus();
  });

  // A badge before the camera, where the browser can read squares.
  every("form[data-badge]", function (form) {
    var button = form.querySelector("[data-camera]"), view = form.querySelector("[data-view]");
    if (!("BarcodeDetector" in window) || !navigator.mediaDevices) return;
    button.hidden = false;
    button.addEventListener("click", function () {
      var reader = new window.BarcodeDetector({ formats: ["qr_code"] });
      navigator.mediaDevices.getUserMedia({ video: { facingMode: "user" } }).then(function (stream) {
        view.srcObject = stream;
        view.hidden = false;
        view.play();
        var timer = window.setInterval(function () {
          reader.detect(view).then(function (found) {
            if (!found.length) return;
            window.clearInterval(timer);
            stream.getTracks().forEach(function (track) { track.stop(); });
            form.querySelector("input[name=code]").value = found[0].rawValue;
            form.requestSubmit();
          }, function () {});
        }, 250);
      }, function () { button.textContent = "The camera stays dark: type or scan"; });
    });
  });

  // Passkeys (W3C Web Authentication). Bytes travel as base64url, RFC 4648 section 5.
  function bytes(text) {
    var plain = window.atob(text.replace(/-/g, "+").replace(/_/g, "/"));
    return Uint8Array.from(plain, function (sign) { return sign.charCodeAt(0); });
  }
  function text(buffer) {
    var plain = String.fromCharCode.apply(null, new Uint8Array(buffer));
    return window.btoa(plain).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
  }
  function unpacked(options) {
    options.challenge = bytes(options.challenge);
    if (options.user) options.user.id = bytes(options.user.id);
    (options.excludeCredentials || []).concat(options.allowCredentials || []).forEach(function (one) { one.id = bytes(one.id); });
    return options;
  }
  function packed(made) {
    var from = made.response, answer = { clientDataJSON: text(from.clientDataJSON) };
    ["attestationObject", "authenticatorData", "signature", "userHandle"].forEach(function (name) {
      if (from[name]) answer[name] = text(from[name]);
    });
    return JSON.stringify({ id: made.id, rawId: text(made.rawId), type: made.type, response: answer, clientExtensionResults: {} });
  }
  function post(url, body) {
    return window.fetch(url, { method: "POST", body: body, credentials: "same-origin" }).then(function (answer) {
      return answer.json().then(function (said) { if (!answer.ok) throw new Error(said.said); return said; });
    });
  }
  var named = !/^[\d.]+$|:/.test(window.location.hostname);
  if (window.PublicKeyCredential && window.isSecureContext && named) {
    every("[data-no-passkeys]", function (line) { line.hidden = true; });
    every("form[data-passkey]", function (form) {
      var making = form.dataset.passkey === "make", wrong = form.querySelector(".wrong[role=alert]");
      form.hidden = false;
      form.addEventListener("submit", function (event) {
        event.preventDefault();
        wrong.hidden = true;
        post(form.dataset.ask, new FormData(form)).then(function (options) {
          var asked = { publicKey: unpacked(options) };
          return making ? navigator.credentials.create(asked) : navigator.credentials.get(asked);
        }).then(function (made) {
          var body = new FormData(form);
          body.delete("present");
          body.append("answer", packed(made));
          return post(form.action, body);
        }).then(function (done) {
          window.location.assign(done.url);
        }).catch(function (error) {
          wrong.textContent = error.name === "Error" ? error.message : "The device gave no passkey. Try once more, or take another way in.";
          wrong.hidden = false;
        });
      });
    });
  }
})();
