import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { amplitudeToDb, centsBetween, hzToMidi, midiToHz, powerToDb } from '../src/units.ts';

describe('MIDI numbers and frequencies', () => {
  // f = A4·2^((m - 69) / 12), A4 = 440 Hz as ISO 16:1975 fixes it [calc]
  it.each([
    [48, 130.8128],
    [60, 261.6256],
    [69, 440],
    [72, 523.2511],
    [84, 1046.5023],
    [96, 2093.0045],
    [97, 2217.461],
  ])('MIDI %d is %d Hz', (midi, hz) => {
    expect(midiToHz(midi)).toBeCloseTo(hz, 4);
    expect(hzToMidi(hz)).toBeCloseTo(midi, 5);
  });

  it('between the keys: 450 Hz is 69.3891, 443 Hz is 69.1176 [calc]', () => {
    expect(hzToMidi(450)).toBeCloseTo(69.3891, 4);
    expect(hzToMidi(443)).toBeCloseTo(69.1176, 4);
  });

  it('middle C sharpens with A4: 261.626, 262.815, 263.409, 264.599 Hz at 440, 442, 443, 445 [calc]', () => {
    const middleC = [440, 442, 443, 445].map((a4Hz) => midiToHz(60, a4Hz));
    [261.626, 262.815, 263.409, 264.599].forEach((hz, i) => {
      expect(middleC[i]).toBeCloseTo(hz, 3);
    });
  });

  it('converting there and back gives the same value, at any reference pitch', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 20, max: 120, noNaN: true }),
        fc.double({ min: 400, max: 480, noNaN: true }),
        (midi, a4Hz) => {
          expect(hzToMidi(midiToHz(midi, a4Hz), a4Hz)).toBeCloseTo(midi, 9);
        },
      ),
    );
  });
});

describe('cents', () => {
  it.each([
    [442, 440, 7.8514],
    [445, 440, 19.5622],
    [437.5, 440, -9.8646],
    [3, 2, 701.955], // pure fifth
    [5, 4, 386.3137], // pure major third
    [81, 80, 21.5063], // syntonic comma
    [493.8833, 415.3047, 300], // B4 over Ab4
  ])('%d against %d is %d cents [calc]', (measured, target, cents) => {
    expect(centsBetween(measured, target)).toBeCloseTo(cents, 3);
  });

  it('one cent is the ratio 1.0005777895 and 0.2542 Hz at A4 [calc]', () => {
    expect(centsBetween(1.0005777895, 1)).toBeCloseTo(1, 6);
    expect(centsBetween(440 + 0.2542, 440)).toBeCloseTo(1, 3);
  });

  it('the middle of a three-semitone bend in Hz lies 156.49 cents above its lower end [calc]', () => {
    const [high, low] = [midiToHz(71), midiToHz(68)];
    expect(centsBetween((high + low) / 2, low)).toBeCloseTo(156.49, 2);
  });

  it('are measured minus target: swapping them changes the sign, and steps add up', () => {
    const hz = fc.double({ min: 20, max: 20000, noNaN: true });
    fc.assert(
      fc.property(hz, hz, hz, (a, b, c) => {
        expect(centsBetween(a, b)).toBeCloseTo(-centsBetween(b, a), 6);
        expect(centsBetween(a, b) + centsBetween(b, c)).toBeCloseTo(centsBetween(a, c), 6);
        expect(centsBetween(a, b)).toBeCloseTo(100 * (hzToMidi(a) - hzToMidi(b)), 6);
      }),
    );
  });
});

describe('levels', () => {
  it('a sine at half of full scale peaks at -6.021 dB and has an RMS of -9.031 dB [calc]', () => {
    expect(amplitudeToDb(0.5)).toBeCloseTo(-6.021, 3);
    expect(amplitudeToDb(0.5 / Math.SQRT2)).toBeCloseTo(-9.031, 3);
  });

  it('power counts half as many dB as amplitude: 99 to 1 is 19.956 dB [calc]', () => {
    expect(powerToDb(99)).toBeCloseTo(19.956, 3);
    expect(powerToDb(4)).toBeCloseTo(amplitudeToDb(2), 12);
  });

  it('zero has no level', () => {
    expect(amplitudeToDb(0)).toBe(-Infinity);
    expect(powerToDb(0)).toBe(-Infinity);
  });
});
