/** Each pass is a bar of count-in, the line, and a silence in which to answer. */
export const PRACTICE_SCRIPT = `
function stop() {
  timers.splice(0).forEach(clearTimeout);
  dropRecording();
  alongside = false;
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
// Counts one bar, plus the beats before the line in the bar where it begins.
function countIn(line, then) {
  var piece = pieceOf(line), beat = number(piece, 'beat') / speedOf(line), count = number(piece, 'count');
  var beats = count + number(spanOf(line).first, 'at'), from = context().currentTime + 0.05;
  for (var i = 0; i < beats; i++) clicks.push(click(from + i * beat, i % count === 0));
  say('Counting in');
  later(then, 0.05 + beats * beat);
}
function once(line, kind, then) {
  var piece = pieceOf(line), span = spanOf(line), speed = speedOf(line);
  if (kind === 'teacher') {
    var heard = { from: span.first.dataset.tfrom, to: span.last.dataset.tto };
    if (heard.from === undefined || heard.to === undefined) { say('The teacher did not play this line.'); then(); return; }
    run(piece, soundOf(piece, 'teacher'), Number(heard.from), Number(heard.to), speed, then);
  } else run(piece, soundOf(piece, kind), span.from, span.to, speed, then);
}
function pass() {
  var line = current, kind = id('sound').value, span = spanOf(line);
  id('play').textContent = 'Stop';
  if (alongside || pressed('count')) countIn(line, sing);
  else sing();
  function sing() {
    status();
    if (kind === 'both') once(line, 'teacher', function () { later(function () { once(line, 'own', passed); }, 0.4); });
    else once(line, kind, passed);
  }
  function passed() {
    running = null;
    mark(null, null);
    if (!pressed('gap')) { next(); return; }
    say('Your turn');
    later(next, (span.to - span.from) / speedOf(line) + 0.2);
  }
  function next() {
    if (!pressed('loop') && !alongside) { stop(); say(''); return; }
    if (pressed('rise')) setSpeed(Math.min(1, Math.round(20 * speedOf(line) + 1) / 20));
    pass();
  }
}
function start(line) { stop(); choose(line); pass(); }
function along() { stop(); alongside = true; pass(); }
function anew() { var kept = alongside; stop(); alongside = kept; pass(); }
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
  else if (running) anew();
  status();
}
`;
