/** What the page does: notes that play, phrases that loop, a speed that keeps the pitch. No network, no storage. */
export const PAGE_SCRIPT = `
'use strict';
(function () {
  var audio = document.querySelector('audio');
  var notes = Array.from(document.querySelectorAll('.note'));
  var bars = new Map(Array.from(document.querySelectorAll('.bar')).map(function (bar) { return [bar.dataset.n, bar]; }));
  var contours = Array.from(document.querySelectorAll('svg.contour'));
  var scrollers = Array.from(document.querySelectorAll('.scroll, .staff'));
  var loops = Array.from(document.querySelectorAll('.loop'));
  var findings = Array.from(document.querySelectorAll('button.finding'));
  var speed = document.querySelector('#speed');
  var stopAt = null, loop = null, now = null;
  // Only a picture that is wider than the page is a stop for the keyboard, where arrow keys scroll it.
  function stops() {
    scrollers.forEach(function (box) {
      var wide = box.scrollWidth > box.clientWidth;
      [['tabindex', '0'], ['role', 'group'], ['aria-label', 'Picture, scrolls sideways']].forEach(function (pair) {
        if (wide) box.setAttribute(pair[0], pair[1]);
        else box.removeAttribute(pair[0]);
      });
    });
  }
  window.addEventListener('resize', stops);
  window.addEventListener('load', stops);
  stops();
  function on(note) { return Number(note.dataset.on); }
  function off(note) { return Number(note.dataset.off); }
  function play(from, to) {
    stopAt = to;
    audio.currentTime = from;
    begin();
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
        if (i === 1) note.setAttribute('aria-current', 'true');
        else note.removeAttribute('aria-current');
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
      var box = svg.parentNode;
      if (inside && (x < box.scrollLeft || x > box.scrollLeft + box.clientWidth)) box.scrollLeft = x - Number(svg.dataset.left);
    });
  }
  function step() {
    if (audio.paused) return;
    if (loop && audio.currentTime >= Number(loop.dataset.off)) audio.currentTime = Number(loop.dataset.on);
    else if (stopAt !== null && audio.currentTime >= stopAt) { stopAt = null; audio.pause(); }
    mark(audio.currentTime);
  }
  function watch() {
    step();
    if (!audio.paused) requestAnimationFrame(watch);
  }
  // Browsers find places inside compressed sound only to some 50 ms: it is unpacked once, so that a note starts where it starts.
  function unpack() {
    var Offline = window.OfflineAudioContext || window.webkitOfflineAudioContext;
    if (!Offline) return;
    var packed = atob(audio.src.slice(audio.src.indexOf(',') + 1));
    var bytes = new Uint8Array(packed.length);
    for (var i = 0; i < packed.length; i++) bytes[i] = packed.charCodeAt(i);
    var desk;
    try { desk = new Offline(1, 1, Number(audio.dataset.rate)); } catch (tooLow) { desk = new Offline(1, 1, 44100); }
    desk.decodeAudioData(bytes.buffer, function (sound) {
      var delay = Number(audio.dataset.delay);
      // A decoder that passed over the tag gives more than the sound, and all of it late.
      var late = sound.duration - Number(audio.dataset.length) > 0.75 * delay ? delay : 0;
      replaceSound(wav(sound.getChannelData(0).subarray(Math.round(late * sound.sampleRate)), sound.sampleRate));
    }, function () {});
  }
  function wav(samples, rate) {
    var view = new DataView(new ArrayBuffer(44 + 2 * samples.length));
    var text = function (at, word) { for (var i = 0; i < word.length; i++) view.setUint8(at + i, word.charCodeAt(i)); };
    text(0, 'RIFF'); view.setUint32(4, 36 + 2 * samples.length, true); text(8, 'WAVEfmt ');
    view.setUint32(16, 16, true); view.setUint16(20, 1, true); view.setUint16(22, 1, true);
    view.setUint32(24, rate, true); view.setUint32(28, 2 * rate, true);
    view.setUint16(32, 2, true); view.setUint16(34, 16, true);
    text(36, 'data'); view.setUint32(40, 2 * samples.length, true);
    for (var i = 0; i < samples.length; i++) view.setInt16(44 + 2 * i, Math.max(-1, Math.min(1, samples[i])) * 32767, true);
    return new Blob([view], { type: 'audio/wav' });
  }
  function replaceSound(blob) {
    var at = audio.currentTime, playing = !audio.paused;
    audio.src = URL.createObjectURL(blob);
    audio.dataset.unpacked = 'yes';
    setSpeed();
    if (at > 0) audio.currentTime = at;
    if (playing) begin();
  }
  function setSpeed() {
    audio.preservesPitch = true;
    audio.defaultPlaybackRate = audio.playbackRate = Number(speed.value);
  }
  function begin() {
    var begun = audio.play();
    if (begun) begun.catch(function () {}); // stopped again before it began
  }
  if (!audio) return;
  notes.forEach(function (note, i) {
    note.addEventListener('click', function () { setLoop(null); play(on(note), off(note)); });
    note.addEventListener('keydown', function (event) {
      var step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      var next = event.key === 'Home' ? notes[0] : event.key === 'End' ? notes[notes.length - 1] : step && notes[i + step];
      if (!next) return;
      event.preventDefault();
      next.focus();
    });
    note.addEventListener('focus', function () {
      notes.forEach(function (other) { other.tabIndex = other === note ? 0 : -1; });
    });
  });
  bars.forEach(function (bar, n) {
    bar.addEventListener('click', function () { notes[Number(n)].click(); });
  });
  loops.forEach(function (button) {
    button.addEventListener('click', function () {
      if (loop === button) { setLoop(null); audio.pause(); return; }
      setLoop(button);
      play(Number(button.dataset.on), null);
    });
  });
  findings.forEach(function (button) {
    button.addEventListener('click', function () {
      setLoop(null);
      play(on(button), off(button));
    });
  });
  speed.addEventListener('change', setSpeed);
  audio.addEventListener('play', watch);
  audio.addEventListener('timeupdate', step); // also while the page is out of sight
  audio.addEventListener('seeked', function () { mark(audio.currentTime); });
  document.addEventListener('keydown', function (event) {
    if (event.key !== 'Escape') return;
    setLoop(null);
    stopAt = null;
    audio.pause();
  });
  unpack();
})();
`;
