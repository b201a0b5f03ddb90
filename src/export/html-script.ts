/** What the page does: notes that play, phrases that loop, a speed that keeps the pitch. No network, no storage. */
export const PAGE_SCRIPT = `
'use strict';
(function () {
  var audio = document.querySelector('audio');
  var notes = Array.from(document.querySelectorAll('.note'));
  var bars = new Map(Array.from(document.querySelectorAll('.bar')).map(function (bar) { return [bar.dataset.n, bar]; }));
  var contours = Array.from(document.querySelectorAll('svg.contour'));
  var loops = Array.from(document.querySelectorAll('.loop'));
  var speed = document.querySelector('#speed');
  var stopAt = null, loop = null, now = null;
  function on(note) { return Number(note.dataset.on); }
  function off(note) { return Number(note.dataset.off); }
  function play(from, to) {
    if (!audio) return;
    stopAt = to;
    audio.currentTime = from;
    audio.play();
  }
  function setLoop(button) {
    loop = button;
    loops.forEach(function (other) { other.setAttribute('aria-pressed', String(other === button)); });
  }
  function mark(sec) {
    var found = notes.find(function (note) { return sec >= on(note) && sec < off(note); }) || null;
    if (found !== now) {
      [now, found].forEach(function (note, i) {
        if (!note) return;
        note.classList.toggle('now', i === 1);
        var bar = bars.get(note.dataset.n);
        if (bar) bar.classList.toggle('now', i === 1);
      });
      now = found;
    }
    contours.forEach(function (svg) {
      var x = Number(svg.dataset.left) + (sec - Number(svg.dataset.from)) * Number(svg.dataset.scale);
      var inside = x >= Number(svg.dataset.left) && x <= svg.viewBox.baseVal.width;
      var cursor = svg.querySelector('.cursor');
      cursor.setAttribute('x1', inside ? x : -9);
      cursor.setAttribute('x2', inside ? x : -9);
    });
  }
  function watch() {
    if (audio.paused) return;
    if (loop && audio.currentTime >= Number(loop.dataset.off)) audio.currentTime = Number(loop.dataset.on);
    else if (stopAt !== null && audio.currentTime >= stopAt) { stopAt = null; audio.pause(); }
    mark(audio.currentTime);
    requestAnimationFrame(watch);
  }
  notes.forEach(function (note, i) {
    note.addEventListener('click', function () { setLoop(null); play(on(note), off(note)); });
    note.addEventListener('keydown', function (event) {
      var step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      var next = event.key === 'Home' ? notes[0] : event.key === 'End' ? notes[notes.length - 1] : step && notes[i + step];
      if (!next) return;
      event.preventDefault();
      notes.forEach(function (other) { other.tabIndex = other === next ? 0 : -1; });
      next.focus();
    });
  });
  bars.forEach(function (bar, n) {
    bar.addEventListener('click', function () { notes[Number(n)].click(); });
  });
  if (!audio) return;
  loops.forEach(function (button) {
    button.addEventListener('click', function () {
      if (loop === button) { setLoop(null); audio.pause(); return; }
      setLoop(button);
      play(Number(button.dataset.on), null);
    });
  });
  speed.addEventListener('change', function () {
    audio.preservesPitch = true;
    audio.defaultPlaybackRate = audio.playbackRate = Number(speed.value);
  });
  audio.addEventListener('play', watch);
  audio.addEventListener('seeked', function () { mark(audio.currentTime); });
  document.addEventListener('keydown', function (event) {
    if (event.key !== 'Escape') return;
    setLoop(null);
    stopAt = null;
    audio.pause();
  });
})();
`;
