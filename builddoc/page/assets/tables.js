/* Tables that can be put in the order of a column. Their own order is the one of the circuit; a third press brings it
   back. What carries no figure stands last either way. */
(function () {
  "use strict";

  /* "−0.5", "≥ 201", "46 %", "7.3×" as numbers; per cent and multiples of a rating are one scale. */
  function figure(cell) {
    var first = Array.prototype.find.call(cell.childNodes, function (node) {
      return node.textContent.trim() && !(node.classList && node.classList.contains("bd-bar"));
    });
    var found = /^(?:≥ )?([−-]?[\d.]+)( %)?/.exec(first ? first.textContent.trim() : "");
    return found ? parseFloat(found[1].replace("−", "-")) / (found[2] ? 100 : 1) : null;
  }

  function sort(table, column, sense) {
    var body = table.tBodies[0], rows = Array.prototype.slice.call(body.rows);
    if (!table.bdOrder) table.bdOrder = rows.slice();
    var keyed = table.bdOrder.map(function (row) {
      var cell = row.cells[column];
      return { row: row, number: figure(cell), text: cell.textContent.trim() };
    });
    var numeric = keyed.some(function (one) { return one.number !== null; }) && column > 0;
    if (sense) keyed.sort(function (a, b) {
      if (!numeric) return sense * a.text.localeCompare(b.text, undefined, { numeric: true });
      if (a.number === null || b.number === null) return (a.number === null) - (b.number === null);
      return sense * (a.number - b.number);
    });
    keyed.forEach(function (one) { body.append(one.row); });
  }

  function prepare(table) {
    if (table.bdSortable || !table.tHead || !table.tBodies[0] || table.tBodies[0].rows.length < 3) return;
    table.bdSortable = true;
    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head, column) {
      if (!head.textContent.trim() || head.querySelector(".bd-hidden")) return;
      var button = document.createElement("button");
      button.type = "button";
      button.className = "bd-sort";
      button.append.apply(button, Array.prototype.slice.call(head.childNodes));
      head.append(button);
      button.addEventListener("click", function () {
        var was = head.getAttribute("aria-sort"), sense = was === "descending" ? 1 : was === "ascending" ? 0 : -1;
        Array.prototype.forEach.call(table.tHead.rows[0].cells, function (other) { other.removeAttribute("aria-sort"); });
        if (sense) head.setAttribute("aria-sort", sense > 0 ? "ascending" : "descending");
        sort(table, column, sense);
      });
    });
  }

  function start() { document.querySelectorAll("figure.bd table.bd-table").forEach(prepare); }
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
  if (typeof document$ !== "undefined" && document$.subscribe) document$.subscribe(start);
})();
