/** Marks what sounds on tab, pitch and harp, and keeps it in sight. */
export const MARKS_SCRIPT = `
function mark(piece, sec) {
  var found = sec === null ? null : all('.note', piece).find(function (note) { return sec >= number(note, 'on') && sec < number(note, 'off'); }) || null;
  if (lit[0] !== found) {
    lit.forEach(function (element) { if (element) { element.classList.remove('now'); element.removeAttribute('aria-current'); } });
    lit = [];
    if (found) {
      var bar = piece.querySelector('.bar[data-n="' + found.dataset.n + '"]');
      var cells = all('.cell', piece).filter(function (cell) { return found.dataset.tab.split(' ').includes(cell.dataset.tab); });
      lit = [found, bar].filter(Boolean).concat(cells);
      lit.forEach(function (element) { element.classList.add('now'); });
      found.setAttribute('aria-current', 'true');
      var line = found.closest('.line');
      if (line !== current && running && running.whole !== false) follow(line);
    }
  }
  all('svg.contour', piece || document).forEach(function (svg) {
    var x = sec === null ? -9 : number(svg, 'left') + (sec - number(svg, 'from')) * number(svg, 'scale');
    var inside = x >= number(svg, 'left') && x <= svg.viewBox.baseVal.width;
    var cursor = svg.querySelector('.cursor'), box = svg.parentNode;
    cursor.setAttribute('x1', inside ? x : -9);
    cursor.setAttribute('x2', inside ? x : -9);
    if (inside && (x < box.scrollLeft || x > box.scrollLeft + box.clientWidth)) box.scrollLeft = x - number(svg, 'left');
  });
}
function follow(line) {
  all('.line.sounding').forEach(function (other) { other.classList.remove('sounding'); });
  line.classList.add('sounding');
  line.scrollIntoView({ block: 'nearest' });
}
`;
