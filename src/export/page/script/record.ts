/** Records the pupil, keeps it in the page until that is closed, and plays it after the line. */
export const RECORD_SCRIPT = `
var recorder = null, microphone = null, asked = 0, mine = null, mineLine = null;
var AS_IT_IS = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
function record() {
  if (recorder) { recorder.stop(); return; }
  stop();
  var turn = asked, line = current;
  navigator.mediaDevices.getUserMedia({ audio: AS_IT_IS }).then(function (stream) {
    if (turn !== asked) { close(stream); return; }
    microphone = stream;
    id('play').textContent = 'Stop';
    countIn(line, function () { keep(stream, line); });
  }, function () { say('The microphone could not be used: allow it for this page.'); });
}
function keep(stream, line) {
  var parts = [], span = spanOf(line);
  recorder = new MediaRecorder(stream);
  recorder.ondataavailable = function (event) { parts.push(event.data); };
  recorder.onstop = function () {
    dropRecording();
    var turn = asked;
    asLoudAsAny(new Blob(parts, { type: parts[0] && parts[0].type }), function (sound) {
      if (mine) URL.revokeObjectURL(mine.src);
      mine = new Audio(URL.createObjectURL(sound));
      mineLine = line;
      id('again').hidden = false;
      if (turn === asked) beside();
    });
  };
  recorder.start();
  press('record', true);
  id('record').textContent = 'Done';
  say('Recording: play ' + line.querySelector('.pick').textContent + ' now');
  later(function () { if (recorder) recorder.stop(); }, 1.2 * (span.to - span.from) / speedOf(line) + 1);
}
function close(stream) { stream.getTracks().forEach(function (track) { track.stop(); }); }
// Abandons any recording: once the page says that it has stopped, nothing is listening.
function dropRecording() {
  asked++;
  if (recorder) { recorder.onstop = null; if (recorder.state !== 'inactive') recorder.stop(); recorder = null; }
  if (microphone) { close(microphone); microphone = null; }
  press('record', false);
  id('record').textContent = 'Record me';
}
function beside() {
  stop();
  choose(mineLine);
  id('play').textContent = 'Stop';
  say('First the line, then you');
  var kind = id('sound').value;
  once(mineLine, kind === 'both' ? 'teacher' : kind, function () { running = null; mark(null, null); playMine(function () { stop(); say(''); }); });
}
function playMine(then) {
  var done = function () { mine.onended = null; running = null; then(); };
  running = { piece: pieceOf(mineLine), follows: false, sound: { stop: function () { mine.pause(); mine.onended = null; }, at: function () { return 0; } } };
  say('You');
  mine.currentTime = 0;
  mine.onended = done;
  mine.play().catch(done);
}
`;
