/** The state of practice: the current line, its speed, the lines played with it, what sounds. */
export const STATE_SCRIPT = `
var all = function (selector, inside) { return Array.from((inside || document).querySelectorAll(selector)); };
var id = function (name) { return document.getElementById(name); };
var number = function (element, key) { return Number(element.dataset[key]); };
var lines = all('.line'), notes = all('.note');
var speeds = new Map(), sounds = new Map();
var current = null, running = null, lit = [], timers = [], clicks = [], drillVoices = [], alongside = false;

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
`;
