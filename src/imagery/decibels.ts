/** Steps of the table: 11 bits of the mantissa, rounded. */
const BITS = 11;
const TABLE = Float64Array.from({ length: (1 << BITS) + 1 }, (_, i) => 20 * Math.log10(1 + i / (1 << BITS)));
const OCTAVE_DB = 20 * Math.log10(2);
const float = new Float32Array(1);
const bits = new Int32Array(float.buffer);
const HALF = 1 << (22 - BITS);
const MANTISSA = (1 << 23) - 1;

/**
 * 20 log10 of an amplitude [dB], from its exponent and a table of its mantissa: to 0.003 dB, several times faster than the
 * logarithm, for the hundreds of millions of echoes of an hour.
 *
 * @param amplitude above 0 and normal in 32 bits; other values give nothing of use
 */
export function decibels(amplitude: number): number {
  float[0] = amplitude;
  const word = bits[0]!;
  return ((word >>> 23) - 127) * OCTAVE_DB + TABLE[((word & MANTISSA) + HALF) >>> (23 - BITS)]!;
}
