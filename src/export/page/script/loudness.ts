import { CEILING_DB, MOST_GAIN_DB, TARGET_LUFS } from '../../../sound/loudness-target.ts';

/**
 * Brings what the microphone recorded to the loudness of the page's recordings. `evenGain(samples)` is for one channel
 * at 48,000 samples per second, played on two speakers (ITU-R BS.1770-4, tables 1 and 2 and both gates).
 */
export const LOUDNESS_SCRIPT = `
var LOUDNESS_RATE = 48000;
function evenGain(samples) {
  var heard = biquad(biquad(samples, 1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585), 1, -2, 1, -1.99004745483398, 0.99007225036621);
  var hop = LOUDNESS_RATE / 10, blocks = [], peak = 0, i;
  for (i = 0; i < samples.length; i++) peak = Math.max(peak, Math.abs(samples[i]));
  for (var from = 0; from + 4 * hop <= heard.length; from += hop) {
    var power = 0;
    for (i = from; i < from + 4 * hop; i++) power += heard[i] * heard[i];
    blocks.push(2 * power / (4 * hop));
  }
  var lufs = function (power) { return -0.691 + 10 * Math.log10(power); };
  var mean = function (those) { return those.reduce(function (sum, power) { return sum + power; }, 0) / those.length; };
  var sounding = blocks.filter(function (power) { return lufs(power) > -70; });
  if (sounding.length === 0) return 1;
  var gate = lufs(mean(sounding)) - 10;
  var loudness = lufs(mean(sounding.filter(function (power) { return lufs(power) > gate; })));
  return Math.min(Math.pow(10, Math.min(${MOST_GAIN_DB}, ${TARGET_LUFS} - loudness) / 20), Math.pow(10, ${CEILING_DB} / 20) / peak);
}
function biquad(x, b0, b1, b2, a1, a2) {
  var y = new Float64Array(x.length), x1 = 0, x2 = 0, y1 = 0, y2 = 0;
  for (var i = 0; i < x.length; i++) {
    y[i] = b0 * x[i] + b1 * x1 + b2 * x2 - a1 * y1 - a2 * y2;
    x2 = x1; x1 = x[i]; y2 = y1; y1 = y[i];
  }
  return y;
}
// Left unchanged if the browser can't decode it.
function asLoudAsAny(blob, then) {
  var Offline = window.OfflineAudioContext || window.webkitOfflineAudioContext;
  var asItWas = function () { then(blob); };
  if (!Offline) { asItWas(); return; }
  blob.arrayBuffer().then(function (bytes) {
    new Offline(1, 1, LOUDNESS_RATE).decodeAudioData(bytes, function (sound) {
      var samples = sound.getChannelData(0), gain = evenGain(samples);
      then(wav(samples.map(function (value) { return gain * value; }), LOUDNESS_RATE));
    }, asItWas);
  }, asItWas);
}
`;
