/* Comforts of a circuit's figure. Without this script everything is there: states are radio buttons, tables complete,
   names and numbers are links. With it, a part or line that is pointed at, tapped or chosen from the list tells its
   figures of the state shown, and drawing, tables, findings and photos mark the same thing. Nothing moves by itself. */
(function () {
  "use strict";

  var ITEMS = "[data-bd-line],[data-bd-part],[data-bd-at]";
  var SLACK = [[0, -7], [7, 0], [0, 7], [-7, 0], [5, -5], [5, 5], [-5, 5], [-5, -5]]; // px beside a thin line that count
  var picks = new WeakMap(); // figure -> {name, fixed}

  function all(root, selector) { return Array.prototype.slice.call(root.querySelectorAll(selector)); }
  function make(tag, name, text) {
    var element = document.createElement(tag);
    if (name) element.className = name;
    if (text) element.textContent = text;
    return element;
  }
  function nameOf(element) {
    var data = element.dataset;
    return data.bdLine || data.bdPart || data.bdAt || data.bd || "";
  }
  function has(list, word) { return (list || "").split(" ").indexOf(String(word)) >= 0; }

  /* ---- states */
  function choices(figure) { return all(figure, ".bd-states > input"); }
  function shown(figure) {
    return Math.max(0, choices(figure).findIndex(function (choice) { return choice.checked; }));
  }
  function panelOf(choice) { return choice.nextElementSibling && choice.nextElementSibling.nextElementSibling; }
  function frames(figure) {
    // Those that are seen: of the state shown; a comparison has two without states.
    return all(figure, ".bd-frame").filter(function (frame) { return frame.offsetParent || frame.closest("dialog"); });
  }
  function showState(figure, number) {
    var choice = choices(figure)[number];
    if (!choice || choice.checked) return;
    choice.checked = true;
    changed(figure, choice);
  }
  function changed(figure, choice) {
    var pick = picks.get(figure);
    if (pick) show(figure, pick.name, pick.fixed);
    else centre(choice);
  }

  /* ---- what is picked */
  function show(figure, name, fixed) {
    picks.set(figure, { name: name, fixed: fixed });
    all(figure, ".bd-picked").forEach(function (element) { element.classList.remove("bd-picked"); });
    var state = shown(figure);
    all(figure, ITEMS + ",[data-bd]").forEach(function (element) {
      if (nameOf(element) !== name) return;
      if (element.dataset.bdIn && element.localName === "tr" && !has(element.dataset.bdIn, state)) return;
      element.classList.add("bd-picked");
    });
    frames(figure).forEach(function (frame) { tell(figure, frame, name); });
  }

  function clear(figure) {
    picks.delete(figure);
    all(figure, ".bd-picked").forEach(function (element) { element.classList.remove("bd-picked"); });
    all(figure, ".bd-frame").forEach(function (frame) { tell(figure, frame, ""); });
  }

  /* The figures of one part or line in the state shown, and where else they stand. */
  function tell(figure, frame, name) {
    var said = frame.querySelector(".bd-said"), list = frame.querySelector(".bd-reader select");
    if (!said || !list) return;
    list.value = name;
    said.textContent = "";
    if (!name || list.selectedIndex < 0) { said.append(make("p", "bd-hint", frame.dataset.bdHint)); return; }
    // While it is enlarged its words stay on the page, beside the blank that keeps its place.
    var dialog = frame.closest("dialog"), panel = (dialog ? dialog.bdHome : frame).parentNode;
    var sentences = all(panel, ".bd-words li[data-bd]");
    var own = sentences.filter(function (li) { return li.dataset.bd === name; });
    var ends = endsOf(figure), around = sentences.filter(function (li) {
      return li.dataset.bd !== name && (ends[li.dataset.bd] || []).indexOf(name) >= 0;
    });
    own.forEach(function (li) { said.append(make("p", "", li.textContent)); });
    if (!own.length) said.append(make("p", "", name + (around.length ? ":" : ": no figure in this state.")));
    var links = findings(figure, frame, name).concat(rows(figure, name)), line = make("p", "bd-rows", "See ");
    links.forEach(function (link, n) { if (n) line.append(" · "); line.append(link); });
    if (links.length) said.append(line);
    around.forEach(function (li) { said.append(make("p", "bd-around", li.textContent)); });
  }

  function endsOf(figure) {
    var data = figure.querySelector(".bd-ends");
    try { return data ? JSON.parse(data.textContent) : {}; } catch (error) { return {}; }
  }

  function link(id, text) {
    var anchor = make("a", "", text);
    anchor.href = "#" + id;
    return anchor;
  }

  function findings(figure, frame, name) {
    var numbers = [];
    all(frame, "[data-bd-findings]").forEach(function (mark) {
      var owner = mark.closest(ITEMS);
      if (!owner || nameOf(owner) !== name) return;
      mark.dataset.bdFindings.split(" ").forEach(function (n) { if (numbers.indexOf(n) < 0) numbers.push(n); });
    });
    return numbers.filter(function (n) { return document.getElementById(figure.id + "-f" + n); })
      .map(function (n) { return link(figure.id + "-f" + n, "finding " + n); });
  }

  function rows(figure, name) {
    var state = shown(figure), found = [];
    all(figure, "table").forEach(function (table) {
      var own = all(table, "tr[data-bd]").filter(function (row) { return row.id && row.dataset.bd === name; });
      var row = own.filter(function (one) { return has(one.dataset.bdIn, state); })[0] || own[0];
      var box = table.closest("details, section"), title = box && box.querySelector("summary, h3");
      if (row && title) found.push(link(row.id, title.firstChild.textContent.trim()));
    });
    return found;
  }

  /* ---- pointing at the drawing */
  function itemAt(drawing, event) {
    var direct = event.target.closest(ITEMS);
    if (direct) return nameOf(direct);
    for (var i = 0; i < SLACK.length; i++) {
      var near = document.elementFromPoint(event.clientX + SLACK[i][0], event.clientY + SLACK[i][1]);
      near = near && drawing.contains(near) && near.closest("[data-bd-line]");
      if (near) return nameOf(near);
    }
    var inside = all(drawing, "g[data-bd-part]").filter(function (part) {
      var box = part.getBoundingClientRect();
      return event.clientX >= box.left && event.clientX <= box.right && event.clientY >= box.top && event.clientY <= box.bottom;
    });
    return inside.length ? nameOf(inside[inside.length - 1]) : "";
  }

  function listen(figure, drawing) {
    var from = null, moved = false;
    drawing.addEventListener("pointermove", function (event) {
      if (from) {
        var dx = event.clientX - from.x, dy = event.clientY - from.y;
        moved = moved || Math.abs(dx) + Math.abs(dy) > 5;
        if (moved) { drawing.scrollLeft = from.left - dx; drawing.scrollTop = from.top - dy; }
        return;
      }
      var pick = picks.get(figure);
      if (event.pointerType !== "mouse" || (pick && pick.fixed)) return;
      var name = itemAt(drawing, event);
      if (name && (!pick || pick.name !== name)) show(figure, name, false);
    });
    drawing.addEventListener("pointerdown", function (event) {
      moved = false;
      if (event.pointerType !== "mouse" || event.button) return; // fingers scroll by themselves
      from = { x: event.clientX, y: event.clientY, left: drawing.scrollLeft, top: drawing.scrollTop };
    });
    ["pointerup", "pointerleave", "pointercancel"].forEach(function (kind) {
      drawing.addEventListener(kind, function () { from = null; });
    });
    drawing.addEventListener("click", function (event) {
      if (moved) return;
      var name = itemAt(drawing, event);
      if (name) show(figure, name, true); else clear(figure);
    });
    drawing.addEventListener("dragstart", function (event) { event.preventDefault(); });
  }

  /* A native list: by key, by voice, by thumb, and with the browser's own search by first letters. */
  function addList(figure, frame) {
    var reader = frame.querySelector(".bd-reader");
    if (!reader) return;
    var names = { Lines: [], Parts: [] };
    all(frame, ".bd-drawing [data-bd-line], .bd-drawing [data-bd-part]").forEach(function (element) {
      var group = names[element.dataset.bdLine ? "Lines" : "Parts"], name = nameOf(element);
      if (group.indexOf(name) < 0) group.push(name);
    });
    var label = make("label", "bd-choose", "Part or line "), list = document.createElement("select");
    list.append(new Option("–", ""));
    Object.keys(names).forEach(function (title) {
      var group = document.createElement("optgroup");
      group.label = title;
      names[title].sort().forEach(function (name) { group.append(new Option(name, name)); });
      if (names[title].length) list.append(group);
    });
    list.addEventListener("change", function () {
      if (!list.value) { clear(figure); return; }
      show(figure, list.value, true);
      bring(frame, list.value);
    });
    label.append(list);
    var said = make("div", "bd-said");
    said.setAttribute("role", "status");
    frame.dataset.bdHint = reader.textContent.trim();
    reader.textContent = "";
    reader.append(label, said);
    tell(figure, frame, "");
  }

  /* The drawing that is seen: a small screen has a detail in the place of the whole one. */
  function drawingOf(root) {
    var both = all(root, ".bd-drawing");
    return both.filter(function (drawing) { return drawing.offsetParent; })[0] || both[0];
  }
  function itemIn(box, name) {
    return all(box, ITEMS).filter(function (one) { return nameOf(one) === name; })[0];
  }

  /* Scroll the drawing inside its box, not the page, to what was picked. What the detail leaves out brings the whole. */
  function bring(frame, name) {
    var box = drawingOf(frame), item = itemIn(box, name);
    var full = frame.closest("figure.bd").querySelector(".bd-full");
    if (!item && full && full.offsetParent && !full.checked) {
      full.checked = true;
      box = drawingOf(frame);
      item = itemIn(box, name);
      full.checked = Boolean(item);
    }
    if (!item) return null;
    var at = item.getBoundingClientRect(), view = box.getBoundingClientRect();
    if (at.left < view.left || at.right > view.right) box.scrollLeft += (at.left + at.right - view.left - view.right) / 2;
    if (at.top < view.top || at.bottom > view.bottom) box.scrollTop += (at.top + at.bottom - view.top - view.bottom) / 2;
    return item;
  }

  /* ---- from a row or a finding back to the drawing */
  function back(figure, name, states) {
    if (states && !has(states, shown(figure))) showState(figure, Number(states.split(" ")[0]));
    var frame = frames(figure)[0], item = frame && bring(frame, name);
    if (!item) return false;
    show(figure, name, true);
    var list = frame.querySelector(".bd-reader select"), at = item.getBoundingClientRect();
    if (at.top < 60 || at.bottom > innerHeight - 20) item.scrollIntoView({ block: "center", inline: "nearest" });
    if (list) list.focus({ preventScroll: true });
    return true;
  }

  function here(anchor) {
    return anchor.hash && anchor.host === location.host && anchor.pathname === location.pathname;
  }

  /* Links within a figure are followed here: a theme with instant navigation would fetch the page anew for the first of
     them, and the state shown would be forgotten. */
  function followed(figure, event) {
    var anchor = event.target.closest("a");
    if (!anchor || !here(anchor) || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    event.stopPropagation();
    var dialog = anchor.closest("dialog");
    if (dialog) dialog.close(); // the row stands behind it
    if (anchor.classList.contains("bd-to")) {
      var row = anchor.closest("[data-bd]");
      if (row && back(figure, row.dataset.bd, row.dataset.bdIn)) return;
    } else if (anchor.classList.contains("bd-ring")) {
      var card = anchor.closest(".bd-finding"), number = anchor.textContent.trim();
      if (card && card.dataset.bdIn) showState(figure, Number(card.dataset.bdIn));
      var mark = frames(figure).map(function (frame) {
        return frame.querySelector('[data-bd-findings~="' + number + '"]');
      })[0];
      if (mark && back(figure, nameOf(mark.closest(ITEMS)))) return;
    }
    history.replaceState(history.state, "", anchor.hash);
    reveal();
    var target = document.getElementById(decodeURIComponent(anchor.hash.slice(1)));
    if (!target) return;
    all(document, ".bd-here").forEach(function (element) { element.classList.remove("bd-here"); });
    target.classList.add("bd-here"); // as :target, which does not know of addresses changed by a script
    if (!target.hasAttribute("tabindex")) target.tabIndex = -1;
    target.focus({ preventScroll: true });
    target.scrollIntoView();
  }

  /* ---- enlarged */
  function enlarge(figure, frame) {
    var svg = frame.querySelector(".bd-drawing svg");
    if (!svg || typeof HTMLDialogElement === "undefined") return;
    var dialog = make("dialog", "bd-dialog"), bar = make("div", "bd-bar-top"), box = frame.querySelector(".bd-drawing");
    var natural = svg.width.baseVal.value, scale = 1;
    function zoom(to) {
      var x = (box.scrollLeft + box.clientWidth / 2) / (natural * scale), y = box.scrollTop + box.clientHeight / 2;
      var before = scale;
      scale = Math.min(6, Math.max(0.25, to));
      svg.style.width = natural * scale + "px";
      box.scrollLeft = x * natural * scale - box.clientWidth / 2;
      box.scrollTop = y * scale / before - box.clientHeight / 2;
    }
    function fit() { zoom(box.clientWidth / natural); }
    function button(text, label, action) {
      var made = make("button", "", text);
      made.type = "button";
      made.setAttribute("aria-label", label);
      made.addEventListener("click", action);
      bar.append(made);
      return made;
    }
    dialog.setAttribute("aria-label", "Drawing, enlarged");
    button("−", "Smaller", function () { zoom(scale / 1.25); });
    button("+", "Larger", function () { zoom(scale * 1.25); });
    button("Fit", "Fit the width", fit);
    var close = button("Close", "Close", function () { dialog.close(); });
    close.className = "bd-close";
    dialog.addEventListener("keydown", function (event) {
      if (event.target.localName === "select") return;
      if (event.key === "+" || event.key === "=") zoom(scale * 1.25);
      else if (event.key === "-") zoom(scale / 1.25);
      else if (event.key === "0") fit();
    });
    function wheel(event) {
      if (!event.ctrlKey) return;
      event.preventDefault();
      zoom(scale * (event.deltaY < 0 ? 1.1 : 1 / 1.1));
    }
    box.addEventListener("wheel", wheel, { passive: false });
    // The drawing itself moves in and back: a copy would double its ids. A blank of its height keeps the page still.
    var home = make("div", "");
    home.style.height = frame.offsetHeight + "px";
    frame.replaceWith(home);
    dialog.append(bar, frame);
    dialog.bdHome = home;
    dialog.addEventListener("close", function () {
      box.removeEventListener("wheel", wheel);
      svg.style.width = "";
      home.replaceWith(frame);
      dialog.remove();
      frame.querySelector(".bd-enlarge").focus({ preventScroll: true });
    });
    figure.append(dialog);
    dialog.showModal();
    zoom(Math.max(1, box.clientWidth / natural));
    box.focus({ preventScroll: true });
  }

  /* ---- set-up */
  function prepare(figure) {
    if (figure.hasAttribute("data-bd-ready")) return;
    figure.setAttribute("data-bd-ready", "");
    all(figure, ".bd-frame").forEach(function (frame) {
      var button = make("button", "bd-enlarge", "Enlarge");
      button.type = "button";
      button.addEventListener("click", function () { enlarge(figure, frame); });
      frame.prepend(button);
      all(frame, ".bd-drawing").forEach(function (drawing) { listen(figure, drawing); });
      addList(figure, frame);
    });
    figure.addEventListener("click", function (event) { followed(figure, event); });
    figure.addEventListener("keydown", function (event) {
      if (event.key === "Escape" && picks.has(figure) && !figure.querySelector("dialog")) clear(figure);
    });
    figure.addEventListener("pointerover", function (event) {
      var row = event.target.closest && event.target.closest("tr[data-bd], [data-bd-number]"), pick = picks.get(figure);
      if (!row || event.pointerType !== "mouse" || (pick && (pick.fixed || pick.name === row.dataset.bd))) return;
      show(figure, row.dataset.bd, false);
    });
    all(figure, ".bd-full").forEach(function (full) {
      full.addEventListener("change", function () { changed(figure, choices(figure)[shown(figure)]); });
    });
    choices(figure).forEach(function (choice) {
      choice.addEventListener("change", function () { changed(figure, choice); });
      if (choice.checked) centre(choice);
    });
  }

  /* A drawing wider than the page is shown from its worst finding in that state, not from its left edge. */
  function centre(choice) {
    var panel = panelOf(choice), box = panel && drawingOf(panel);
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
    if (fold) { fold.open = true; fold.dataset.bdWanted = ""; }
    if (panel || fold) target.scrollIntoView();
  }

  function start() {
    all(document, "figure.bd").forEach(prepare);
    reveal();
  }

  /* Paper cannot be unfolded. Of a very long table it gets the rows of the state that is drawn; all of it if the reader
     has opened it. A theme may open everything by itself, so that what the reader did is marked. */
  var folded = [];
  document.addEventListener("click", function (event) {
    var fold = event.target.closest && event.target.closest(".bd details > summary");
    fold = fold && fold.parentNode;
    if (!fold) return;
    if (fold.open) delete fold.dataset.bdWanted; else fold.dataset.bdWanted = "";
  });
  window.addEventListener("beforeprint", function () {
    all(document, ".bd details.bd-long:not([data-bd-wanted])").forEach(function (details) {
      var state = shown(details.closest(".bd")), rows = all(details, "tbody tr");
      var drawn = rows.filter(function (row) { return has(row.dataset.bdIn, state); });
      if (!drawn.length) return;
      rows.forEach(function (row) { row.classList.toggle("bd-undrawn", drawn.indexOf(row) < 0); });
      all(details, "thead th").forEach(function (head, column) { // "all other states" would say nothing here
        if (head.textContent.trim() !== "State") return;
        all(details, "tr > :nth-child(" + (column + 1) + ")").forEach(function (cell) {
          cell.classList.add("bd-undrawn");
        });
      });
      var label = all(details.closest(".bd"), ".bd-states > label")[state];
      details.classList.add("bd-drawn");
      details.querySelector("summary").dataset.bdState = label ? label.firstChild.textContent.trim() : "";
    });
    all(document, ".bd details:not([open]):not(.bd-words)").forEach(function (details) {
      if (details.matches(".bd-long:not(.bd-drawn)")) return;
      details.open = true;
      folded.push(details);
    });
  });
  window.addEventListener("afterprint", function () {
    folded.splice(0).forEach(function (details) { details.open = false; });
    all(document, ".bd-drawn").forEach(function (details) { details.classList.remove("bd-drawn"); });
    all(document, ".bd-undrawn").forEach(function (element) { element.classList.remove("bd-undrawn"); });
  });
  window.addEventListener("hashchange", reveal);
  document.addEventListener("click", function (event) {
    var anchor = event.target.closest && event.target.closest("a"); // a theme may change the address without a word
    if (anchor && here(anchor)) setTimeout(reveal, 0);
  });

  /* Both: a theme with instant navigation tells of each new page, but not always of the first one. */
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
  if (typeof document$ !== "undefined" && document$.subscribe) document$.subscribe(start);
})();
