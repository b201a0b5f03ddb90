import { SOUND_SCRIPT } from './script-sound.ts';

/**
 * What the page does: a line at a time is practised, at a speed of its own, over and over, counted in, with a gap to
 * answer, joined to its neighbours; what sounds is marked on tab, staff, pitch and harp. No network, no storage.
 */
export const PAGE_SCRIPT = `
'use strict';
(function () {
${SOUND_SCRIPT}
var all = function (selector, inside) { return Array.from((inside || document).querySelectorAll(selector)); };
var id = function (name) { return document.getElementById(name); };
var number = function (element, key) { return Number(element.dataset[key]); };
var lines = all('.line'), notes = all('.note');
var speeds = new Map(), sounds = new Map();
var current = null, running = null, lit = [], timers = [], clicks = [], drillVoices = [], mine = null;

function pieceOf(element) { return element.closest('.piece'); }
function linesOf(piece) { return all('.line', piece); }
function soundOf(piece, kind) {
  if (!sounds.has(piece)) sounds.set(piece, {});
  var known = sounds.get(piece);
  if (!known[kind]) {
    var audio = kind === 'tab' ? null : piece.querySelector('audio.' + kind);
    known[kind] = audio ? recordedSound(audio) : tabSound(all('.note', piece));
  }
  return known[kind];
}
function pressed(name) { var button = id(name); return button !== null && button.getAttribute('aria-pressed') === 'true'; }
function press(name, on) { id(name).setAttribute('aria-pressed', String(on)); }
function speedOf(line) { return speeds.get(line) || 1; }
function say(text) { document.querySelector('.status').textContent = text; }

function choose(line, still) {
  if (current) { current.classList.remove('current'); current.removeAttribute('aria-current'); }
  current = line;
  line.classList.add('current');
  line.setAttribute('aria-current', 'true');
  id('speed').value = String(speedOf(line));
  press('slow', speedOf(line) < 1);
  var harp = pieceOf(line).querySelector('.harp');
  if (harp) line.querySelector('.views').appendChild(harp);
  if (!still) line.scrollIntoView({ block: 'nearest' });
}
function status() {
  var words = [current.querySelector('.pick').textContent, Math.round(100 * speedOf(current)) + ' %'];
  if (pressed('loop')) words.push('looped');
  say(words.join(', '));
}
function spanOf(line) {
  var among = linesOf(pieceOf(line)), place = among.indexOf(line), kind = id('span').value;
  var first = kind === 'sofar' || kind === 'all' ? 0 : place;
  var last = kind === 'all' ? among.length - 1 : kind === 'two' ? Math.min(place + 1, among.length - 1) : place;
  return { first: among[first], last: among[last], from: number(among[first], 'from'), to: number(among[last], 'to') };
}
function later(call, sec) { timers.push(setTimeout(call, 1000 * sec)); }
function stop() {
  timers.splice(0).forEach(clearTimeout);
  silence(clicks); silence(drillVoices);
  if (running) { running.sound.stop(); running = null; }
  id('play').textContent = 'Play';
  mark(null, null);
}
function run(piece, sound, from, to, speed, done) {
  running = { piece: piece, sound: sound, follows: sound !== (sounds.get(piece) || {}).teacher };
  id('play').textContent = 'Stop';
  sound.play(from, to, speed, done);
  watch();
}
function watch() {
  if (!running) return;
  if (running.sound.step) running.sound.step();
  if (!running) return;
  if (running.follows) mark(running.piece, running.sound.at());
  requestAnimationFrame(watch);
}
function countIn(piece, speed, then) {
  if (!pressed('count')) { then(); return; }
  var beat = number(piece, 'beat') / speed, count = number(piece, 'count'), at = context().currentTime + 0.05;
  for (var i = 0; i < count; i++) clicks.push(click(at + i * beat, i === 0));
  say('Counting in');
  later(then, 0.05 + count * beat);
}
function once(line, kind, then) {
  var piece = pieceOf(line), span = spanOf(line), speed = speedOf(line);
  if (kind === 'mine' && mine) {
    playMine(then);
  } else if (kind === 'teacher') {
    var heard = { from: span.first.dataset.tfrom, to: span.last.dataset.tto };
    if (heard.from === undefined || heard.to === undefined) { say('The teacher did not play this line.'); then(); return; }
    run(piece, soundOf(piece, 'teacher'), Number(heard.from), Number(heard.to), speed, then);
  } else run(piece, soundOf(piece, kind), span.from, span.to, speed, then);
}
function pass() {
  var line = current, kind = id('sound').value, span = spanOf(line), piece = pieceOf(line);
  id('play').textContent = 'Stop';
  status();
  countIn(piece, speedOf(line), function () {
    if (kind === 'both') once(line, 'teacher', function () { later(function () { once(line, 'own', passed); }, 0.4); });
    else once(line, kind, passed);
  });
  function passed() {
    running = null;
    mark(null, null);
    if (!pressed('gap')) { next(); return; }
    say('Your turn');
    later(next, (span.to - span.from) / speedOf(line) + 0.2);
  }
  function next() {
    if (!pressed('loop')) { stop(); say(''); return; }
    if (pressed('rise')) setSpeed(Math.min(1, Math.round(20 * speedOf(line) + 1) / 20));
    pass();
  }
}
function start(line) { stop(); choose(line); pass(); }
function setSpeed(speed) {
  speeds.set(current, speed);
  var choice = Array.from(id('speed').options).find(function (option) { return Number(option.value) === speed; });
  if (!choice) {
    choice = new Option(Math.round(100 * speed) + ' %', String(speed));
    var after = Array.from(id('speed').options).find(function (option) { return Number(option.value) > speed; });
    id('speed').add(choice, after || null);
  }
  choice.selected = true;
  press('slow', speed < 1);
  if (running && running.sound.speed) running.sound.speed(speed);
  else if (running) start(current);
  status();
}

function mark(piece, sec) {
  var found = sec === null ? null : all('.note', piece).find(function (note) { return sec >= number(note, 'on') && sec < number(note, 'off'); }) || null;
  if (lit[0] !== found) {
    lit.forEach(function (element) { if (element) { element.classList.remove('now'); element.removeAttribute('aria-current'); } });
    lit = [];
    if (found) {
      var bar = piece.querySelector('.bar[data-n="' + found.dataset.n + '"]');
      var cell = piece.querySelector('.cell[data-tab="' + found.dataset.tab + '"]');
      lit = [found, bar, cell].filter(Boolean);
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

// The pupil's own playing, kept in the page until it is closed.
var recorder = null;
function record() {
  if (recorder) { recorder.stop(); return; }
  stop();
  navigator.mediaDevices.getUserMedia({ audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false } }).then(function (stream) {
    var parts = [], line = current, span = spanOf(line), piece = pieceOf(line);
    countIn(piece, speedOf(line), function () {
      recorder = new MediaRecorder(stream);
      recorder.ondataavailable = function (event) { parts.push(event.data); };
      recorder.onstop = function () {
        recorder = null;
        press('record', false);
        stream.getTracks().forEach(function (track) { track.stop(); });
        if (mine) URL.revokeObjectURL(mine.src);
        mine = new Audio(URL.createObjectURL(new Blob(parts, { type: parts[0] && parts[0].type })));
        say('First the line, then you');
        once(line, id('sound').value === 'both' ? 'teacher' : id('sound').value, function () { running = null; mark(null, null); playMine(function () { stop(); say(''); }); });
      };
      recorder.start();
      press('record', true);
      say('Recording: play ' + line.querySelector('.pick').textContent + ' now');
      later(function () { if (recorder) recorder.stop(); }, 1.2 * (span.to - span.from) / speedOf(line) + 1);
    });
  }, function () { say('The microphone could not be used: allow it for this page.'); });
}
function playMine(then) {
  var done = function () { mine.onended = null; running = null; then(); };
  running = { piece: pieceOf(current), follows: false, sound: { stop: function () { mine.pause(); mine.onended = null; }, at: function () { return 0; } } };
  id('play').textContent = 'Stop';
  say('You');
  mine.currentTime = 0;
  mine.onended = done;
  mine.play().catch(done);
}

function drill(button) {
  stop();
  var ctx = context(), at = ctx.currentTime + 0.05, hz = number(button, 'hz'), plain = number(button, 'plain'), kind = button.dataset.kind;
  if (kind === 'target') drillVoices.push(tone(hz, at, 2.5));
  else if (kind === 'glide') drillVoices.push(tone(hz, at, 3.5, plain));
  else drillVoices.push(tone(hz, at, 1.5), tone(hz, at + 5.5, 1.5));
  say(kind === 'answer' ? 'Hear it, hold it four seconds, hear it again' : '');
}

// Only a picture that is wider than the page is a stop for the keyboard, where arrow keys scroll it.
function stops() {
  all('.scroll').forEach(function (box) {
    var wide = box.scrollWidth > box.clientWidth + 1;
    [['tabindex', '0'], ['role', 'group'], ['aria-label', 'Picture, scrolls sideways']].forEach(function (pair) {
      if (wide) box.setAttribute(pair[0], pair[1]);
      else box.removeAttribute(pair[0]);
    });
  });
}
function show(name, what) {
  var button = id(name);
  if (!button) return;
  var set = function () { document.body.classList.toggle('no-' + what, !pressed(name)); stops(); };
  button.addEventListener('click', function () { press(name, !pressed(name)); set(); });
  set();
}

lines.forEach(function (line) {
  line.querySelector('.pick').addEventListener('click', function () { start(line); });
});
all('.go').forEach(function (button) {
  button.addEventListener('click', function () { start(linesOf(pieceOf(button))[number(button, 'line')]); });
});
notes.forEach(function (note, place) {
  note.addEventListener('click', function () {
    stop();
    choose(note.closest('.line'));
    var piece = pieceOf(note), kind = id('sound').value;
    run(piece, soundOf(piece, kind === 'tab' ? 'tab' : 'own'), number(note, 'on'), number(note, 'off'), speedOf(current), stop);
  });
  note.addEventListener('keydown', function (event) {
    var next = notes[place + ({ ArrowRight: 1, ArrowLeft: -1 }[event.key] || 0)];
    if (!next || next === note) return;
    event.preventDefault();
    next.focus();
  });
  note.addEventListener('focus', function () {
    notes.forEach(function (other) { other.tabIndex = other === note ? 0 : -1; });
  });
});
all('.bar').forEach(function (bar) {
  bar.addEventListener('click', function () { pieceOf(bar).querySelector('.note[data-n="' + bar.dataset.n + '"]').click(); });
});
all('button.finding').forEach(function (button) {
  button.addEventListener('click', function () {
    stop();
    run(pieceOf(button), soundOf(pieceOf(button), 'own'), number(button, 'on'), number(button, 'off'), 1, stop);
  });
});
all('.drill').forEach(function (button) { button.addEventListener('click', function () { drill(button); }); });
id('play').addEventListener('click', function () { if (id('play').textContent === 'Stop') { stop(); say(''); } else pass(); });
id('back').addEventListener('click', function () { step(-1); });
id('next').addEventListener('click', function () { step(1); });
function step(by) {
  var line = lines[lines.indexOf(current) + by];
  if (!line) return;
  if (id('play').textContent === 'Stop') start(line);
  else { choose(line); status(); }
}
['loop', 'count', 'gap', 'rise'].forEach(function (name) {
  id(name).addEventListener('click', function () {
    press(name, !pressed(name));
    if (name === 'rise' && pressed('rise')) {
      press('loop', true);
      if (speedOf(current) === 1) setSpeed(0.6);
    }
    status();
  });
});
id('slow').addEventListener('click', function () { setSpeed(pressed('slow') ? 1 : 0.6); });
id('speed').addEventListener('change', function () { setSpeed(Number(id('speed').value)); });
id('more').addEventListener('click', function () {
  var open = id('choices').hidden;
  id('choices').hidden = !open;
  id('more').setAttribute('aria-expanded', String(open));
});
if (id('compare')) id('compare').addEventListener('click', function () { stop(); id('sound').value = 'both'; pass(); });
if (navigator.mediaDevices && window.MediaRecorder) id('record').addEventListener('click', record);
else id('record').hidden = true;
document.addEventListener('keydown', function (event) { if (event.key === 'Escape') { press('loop', false); stop(); say(''); } });
window.addEventListener('resize', stops);
window.addEventListener('load', stops);
show('show-staff', 'staff'); show('show-pitch', 'pitch'); show('show-harp', 'harp');
if (lines.length > 0) choose(lines[0], true);
all('.piece').forEach(function (piece) { if (piece.querySelector('audio.own')) soundOf(piece, 'own'); });
})();
`;
