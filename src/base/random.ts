/**
 * A repeatable source of random numbers: the same seed gives the same numbers on every machine.
 * Pure rooms take one as an argument; nothing in them draws from anywhere else.
 */
export interface Random {
  /** A whole number, 0 to 2^32 - 1, each equally likely. */
  uint32(): number;
  /** A number in [0, 1) with 53 random bits. */
  uniform(): number;
  /** A number in [low, high). */
  between(low: number, high: number): number;
  /** A whole number in [0, count), each equally likely. */
  integer(count: number): number;
  /** A standard normal deviate: mean 0, standard deviation 1. */
  normal(): number;
  /** A generator of its own for a named part of the work, which depends on the seed and the name, not on how many numbers were drawn. */
  fork(name: string): Random;
}

/**
 * A generator for a seed: xoshiro128**, period 2^128 - 1.
 *
 * @param seed a whole number, 0 to 2^53 - 1
 * @throws RangeError for any other seed
 *
 * Source: Blackman & Vigna (2021), Scrambled linear pseudorandom number generators, ACM TOMS 47(4), doi:10.1145/3460772.
 * The state is filled from the seed by the 32-bit finaliser of MurmurHash3 over a Weyl sequence.
 */
export function createRandom(seed: number): Random {
  if (!Number.isSafeInteger(seed) || seed < 0) throw new RangeError(`seed ${seed}: expected a whole number, 0 to 2^53 - 1`);
  let weyl = Math.imul(Math.floor(seed / 2 ** 32), 0x85ebca6b) ^ seed;
  const next = (): number => {
    weyl = (weyl + 0x9e3779b9) | 0;
    return mix32(weyl ^ Math.floor(seed / 2 ** 32));
  };
  return randomFromState(next(), next(), next(), next(), seed);
}

/**
 * A generator at a given state: for tests against published output.
 * @throws RangeError when all four words are zero
 */
export function randomFromState(word0: number, word1: number, word2: number, word3: number, seed = 0): Random {
  let s0 = word0 | 0;
  let s1 = word1 | 0;
  let s2 = word2 | 0;
  let s3 = word3 | 0;
  if ((s0 | s1 | s2 | s3) === 0) throw new RangeError('state: expected four words that are not all zero');
  let spare = NaN;

  const uint32 = (): number => {
    const scrambled = Math.imul(rotateLeft(Math.imul(s1, 5), 7), 9);
    const shifted = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= shifted;
    s3 = rotateLeft(s3, 11);
    return scrambled >>> 0;
  };
  const uniform = (): number => {
    const high = uint32() >>> 5;
    const low = uint32() >>> 6;
    return (high * 2 ** 26 + low) / 2 ** 53;
  };
  return {
    uint32,
    uniform,
    between: (low, high) => low + (high - low) * uniform(),
    integer(count) {
      if (!Number.isInteger(count) || count < 1 || count > 2 ** 32) throw new RangeError(`count ${count}: expected a whole number, 1 to 2^32`);
      // Numbers past the last whole multiple of count are drawn again, so that none is favoured.
      const end = 2 ** 32 - (2 ** 32 % count);
      let drawn = uint32();
      while (drawn >= end) drawn = uint32();
      return drawn % count;
    },
    normal() {
      // Polar method: Marsaglia & Bray (1964), SIAM Review 6(3), 260-264. Each accepted point gives two deviates.
      if (!Number.isNaN(spare)) {
        const kept = spare;
        spare = NaN;
        return kept;
      }
      let x: number;
      let y: number;
      let radius2: number;
      do {
        x = 2 * uniform() - 1;
        y = 2 * uniform() - 1;
        radius2 = x * x + y * y;
      } while (radius2 >= 1 || radius2 === 0);
      const scale = Math.sqrt((-2 * Math.log(radius2)) / radius2);
      spare = y * scale;
      return x * scale;
    },
    fork(name) {
      // FNV-1a over the name's code units, mixed with the seed.
      let hash = 0x811c9dc5;
      for (let i = 0; i < name.length; i++) hash = Math.imul(hash ^ name.charCodeAt(i), 0x01000193);
      const low = mix32(hash ^ seed);
      const high = mix32(low ^ Math.floor(seed / 2 ** 32) ^ name.length);
      return createRandom((high & 0x1fffff) * 2 ** 32 + low);
    },
  };
}

function rotateLeft(word: number, bits: number): number {
  return (word << bits) | (word >>> (32 - bits));
}

/** The 32-bit finaliser of MurmurHash3: every input bit changes every output bit with a chance of about a half. */
function mix32(word: number): number {
  let mixed = word | 0;
  mixed = Math.imul(mixed ^ (mixed >>> 16), 0x85ebca6b);
  mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
  return (mixed ^ (mixed >>> 16)) >>> 0;
}
