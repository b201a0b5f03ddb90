/** What each button and key does. */
export const CONTROLS_SCRIPT = `
function drill(button) {
  stop();
  var ctx = context(), at = ctx.currentTime + 0.05, hz = number(button, 'hz'), plain = number(button, 'plain'), kind = button.dataset.kind;
  if (kind === 'target') drillVoices.push(tone(hz, at, 2.5));
  else if (kind === 'glide') drillVoices.push(tone(hz, at, 3.5, plain));
  else drillVoices.push(tone(hz, at, 1.5), tone(hz, at + 5.5, 1.5));
  say(kind === 'answer' ? 'Hear it, hold it four seconds, hear it again' : '');
}

// Only a picture wider than the page can be focused, so that arrow keys scroll it.
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
id('along').addEventListener('click', along);
id('again').addEventListener('click', beside);
if (id('compare')) id('compare').addEventListener('click', function () { stop(); id('sound').value = 'both'; pass(); });
if (navigator.mediaDevices && window.MediaRecorder) id('record').addEventListener('click', record);
else id('record').hidden = true;
document.addEventListener('keydown', function (event) { if (event.key === 'Escape') { press('loop', false); stop(); say(''); } });
window.addEventListener('resize', stops);
window.addEventListener('load', stops);
show('show-staff', 'staff'); show('show-pitch', 'pitch'); show('show-harp', 'harp');
// On paper the harp is printed once, below all lines.
window.addEventListener('beforeprint', function () {
  all('.piece').forEach(function (piece) {
    var harp = piece.querySelector('.harp');
    if (harp) piece.querySelector('.lines').after(harp);
  });
});
window.addEventListener('afterprint', function () { choose(current, true); });
if (lines.length > 0) choose(lines[0], true);
all('.piece').forEach(function (piece) { if (piece.querySelector('audio.own')) soundOf(piece, 'own'); });
`;
