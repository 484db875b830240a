/* Small comforts of a circuit's figure. Without this script everything is there: states are radio buttons. */
(function () {
  "use strict";

  function enlarge(figure, drawing) {
    var svg = drawing.querySelector("svg");
    if (!svg || typeof HTMLDialogElement === "undefined") return;
    var dialog = document.createElement("dialog");
    dialog.className = "bd-dialog";
    dialog.setAttribute("aria-label", "Drawing, enlarged");
    var close = document.createElement("button");
    close.type = "button";
    close.className = "bd-close";
    close.textContent = "Close";
    close.addEventListener("click", function () { dialog.close(); });
    // The drawing itself moves in and back: a copy would double its ids.
    var home = document.createComment("drawing");
    svg.replaceWith(home);
    dialog.append(close, svg);
    dialog.addEventListener("close", function () {
      home.replaceWith(svg);
      dialog.remove();
    });
    figure.append(dialog);
    dialog.showModal();
  }

  function prepare(figure) {
    if (figure.hasAttribute("data-bd-ready")) return;
    figure.setAttribute("data-bd-ready", "");
    figure.querySelectorAll(".bd-frame").forEach(function (frame) {
      var button = document.createElement("button");
      button.type = "button";
      button.className = "bd-enlarge";
      button.textContent = "Enlarge";
      button.addEventListener("click", function () { enlarge(figure, frame.querySelector(".bd-drawing")); });
      frame.append(button);
    });
    figure.querySelectorAll(".bd-states > input").forEach(function (choice) {
      choice.addEventListener("change", function () { centre(choice); });
      if (choice.checked) centre(choice);
    });
  }

  /* A drawing wider than the page is shown from its worst finding in that state, not from its left edge. */
  function centre(choice) {
    var box = choice.parentNode.querySelector("label[for='" + choice.id + "'] + .bd-panel .bd-drawing");
    var mark = box && box.querySelector(".bd-mark:not(.bd-elsewhere)");
    ["bd-notice", "bd-caution", "bd-warning", "bd-danger"].forEach(function (signal) {
      mark = (box && box.querySelector(".bd-mark." + signal + ":not(.bd-elsewhere)")) || mark;
    });
    if (!mark || box.scrollWidth <= box.clientWidth) return;
    var at = mark.getBoundingClientRect(), frame = box.getBoundingClientRect();
    box.scrollLeft += at.left + at.width / 2 - frame.left - frame.width / 2;
  }

  /* A link to something folded or in another state's drawing opens what it is in. */
  function reveal() {
    var id = decodeURIComponent(location.hash.slice(1));
    var target = id && document.getElementById(id);
    if (!target || !target.closest(".bd-block")) return;
    var panel = target.closest(".bd-panel");
    var choice = panel && panel.previousElementSibling && panel.previousElementSibling.previousElementSibling;
    if (choice && choice.type === "radio") choice.checked = true;
    var fold = target.closest("details");
    if (fold) fold.open = true;
    if (panel || fold) target.scrollIntoView();
  }

  function start() {
    document.querySelectorAll("figure.bd").forEach(prepare);
    reveal();
  }

  /* Paper cannot be unfolded. */
  var folded = [];
  window.addEventListener("beforeprint", function () {
    document.querySelectorAll(".bd details:not([open]):not(.bd-words)").forEach(function (details) {
      details.open = true;
      folded.push(details);
    });
  });
  window.addEventListener("afterprint", function () {
    folded.splice(0).forEach(function (details) { details.open = false; });
  });
  window.addEventListener("hashchange", reveal);

  /* Both: a theme with instant navigation tells of each new page, but not always of the first one. */
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
  if (typeof document$ !== "undefined" && document$.subscribe) document$.subscribe(start);
})();
