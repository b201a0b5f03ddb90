/**
 * The part of the script that makes sound: recordings, the tab as sound, clicks, tones. A sound has `play(from, to,
 * speed, done)`, `stop()` and `at()`, in seconds of its own time.
 */
export const SOUND_SCRIPT = `
var desk = null;
function context() {
  if (!desk) desk = new (window.AudioContext || window.webkitAudioContext)();
  if (desk.state === 'suspended') desk.resume();
  return desk;
}
var reedWave = null;
// Partials fall off like those of a reed: about 6 dB per octave, with a strong second and third.
function tone(hz, at, length, glideFrom, level) {
  var ctx = context();
  if (!reedWave) reedWave = ctx.createPeriodicWave(new Float32Array([0, 1, 0.7, 0.5, 0.3, 0.22, 0.16, 0.1, 0.07]), new Float32Array(9));
  var voice = ctx.createOscillator(), loud = ctx.createGain();
  voice.setPeriodicWave(reedWave);
  voice.frequency.setValueAtTime(glideFrom || hz, at);
  if (glideFrom) {
    voice.frequency.setValueAtTime(glideFrom, at + 0.9);
    voice.frequency.exponentialRampToValueAtTime(hz, at + 1.3);
  }
  loud.gain.setValueAtTime(0, at);
  loud.gain.linearRampToValueAtTime(level || 0.16, at + Math.min(0.03, length / 3));
  loud.gain.setValueAtTime(level || 0.16, at + Math.max(length - 0.04, length / 2));
  loud.gain.linearRampToValueAtTime(0, at + length);
  voice.connect(loud); loud.connect(ctx.destination);
  voice.start(at); voice.stop(at + length + 0.02);
  return voice;
}
function click(at, strong) {
  var ctx = context(), voice = ctx.createOscillator(), loud = ctx.createGain();
  voice.frequency.value = strong ? 1600 : 1100;
  loud.gain.setValueAtTime(0.2, at);
  loud.gain.exponentialRampToValueAtTime(0.001, at + 0.05);
  voice.connect(loud); loud.connect(ctx.destination);
  voice.start(at); voice.stop(at + 0.06);
  return voice;
}
function silence(voices) { voices.splice(0).forEach(function (voice) { try { voice.stop(); } catch (ended) {} }); }

// All holes at once, or two alternating.
function soundNote(note, at, length, voices) {
  var hz = note.dataset.hz.split(' ').map(Number), turn = 1 / Number(note.dataset.shake);
  if (!(turn > 0)) { hz.forEach(function (each) { voices.push(tone(each, at, length, 0, 0.16 / Math.sqrt(hz.length))); }); return; }
  for (var i = 0; i * turn < length - 0.02; i++) voices.push(tone(hz[i % hz.length], at + i * turn, Math.min(turn, length - i * turn)));
}
function tabSound(notes) {
  var voices = [], from = 0, begun = 0, rate = 1, timer = 0;
  return {
    play: function (start, end, speed, done) {
      var ctx = context();
      from = start; rate = speed; begun = ctx.currentTime + 0.05;
      notes.forEach(function (note) {
        var on = Number(note.dataset.on), off = Number(note.dataset.off);
        if (on < end - 0.001 && off > start + 0.001) {
          var sounding = Math.max(on, start);
          soundNote(note, begun + (sounding - start) / speed, Math.max(0.05, (Math.min(off, end) - sounding) / speed), voices);
        }
      });
      timer = setTimeout(done, 1000 * ((end - start) / speed + 0.05));
    },
    stop: function () { clearTimeout(timer); silence(voices); },
    at: function () { return Math.max(from, from + (context().currentTime - begun) * rate); },
    hush: function () {}
  };
}

function recordedSound(audio) {
  var end = null, done = null;
  function begin() {
    var started = audio.play();
    if (started) started.catch(function () {}); // stopped again before it began
  }
  function step() {
    if (end === null || audio.paused) return;
    if (audio.currentTime >= end || audio.ended) {
      var call = done;
      end = done = null;
      audio.pause();
      if (call) call();
    }
  }
  audio.addEventListener('timeupdate', step); // also while the page is hidden
  audio.addEventListener('ended', step);
  unpack(audio);
  return {
    play: function (start, to, speed, after) {
      audio.preservesPitch = true;
      audio.defaultPlaybackRate = audio.playbackRate = speed;
      audio.currentTime = start;
      end = to; done = after;
      begin();
    },
    stop: function () { end = done = null; audio.pause(); },
    at: function () { return audio.currentTime; },
    step: step,
    speed: function (speed) { audio.defaultPlaybackRate = audio.playbackRate = speed; }
  };
}
// Browsers seek in compressed sound only to some 50 ms, so it is decoded once to start notes on time.
function unpack(audio) {
  var Offline = window.OfflineAudioContext || window.webkitOfflineAudioContext;
  if (!Offline) return;
  var packed = atob(audio.src.slice(audio.src.indexOf(',') + 1));
  var bytes = new Uint8Array(packed.length);
  for (var i = 0; i < packed.length; i++) bytes[i] = packed.charCodeAt(i);
  var bench;
  try { bench = new Offline(1, 1, Number(audio.dataset.rate)); } catch (tooLow) { bench = new Offline(1, 1, 44100); }
  bench.decodeAudioData(bytes.buffer, function (sound) {
    var delay = Number(audio.dataset.delay);
    // A decoder that ignored the tag returns extra samples, and everything late.
    var late = sound.duration - Number(audio.dataset.length) > 0.75 * delay ? delay : 0;
    var at = audio.currentTime, playing = !audio.paused, rate = audio.playbackRate;
    audio.src = URL.createObjectURL(wav(sound.getChannelData(0).subarray(Math.round(late * sound.sampleRate)), sound.sampleRate));
    audio.dataset.unpacked = 'yes';
    audio.defaultPlaybackRate = audio.playbackRate = rate;
    if (at > 0) audio.currentTime = at;
    if (playing) audio.play().catch(function () {});
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
`;
