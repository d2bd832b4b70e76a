import stdlibAtan from '@stdlib/math-base-special-atan';
import stdlibCos from '@stdlib/math-base-special-cos';
import stdlibExp from '@stdlib/math-base-special-exp';
import stdlibLn from '@stdlib/math-base-special-ln';
import stdlibSin from '@stdlib/math-base-special-sin';

/**
 * Functions whose last digits are the same on every machine. ECMA-262 (21.3.2) leaves the results of Math.exp, log, sin
 * and the like to each engine, and engines do differ in the last digit; a fit takes such a difference along into every
 * number. These are written in plain arithmetic (ports of FreeBSD's msun), which IEEE 754 fixes to the last bit.
 */
export function exp(x: number): number {
  return stdlibExp(x);
}

/** Natural logarithm. */
export function log(x: number): number {
  return stdlibLn(x);
}

export function sin(x: number): number {
  return stdlibSin(x);
}

export function cos(x: number): number {
  return stdlibCos(x);
}

export function atan(x: number): number {
  return stdlibAtan(x);
}

/** √(a² + b²), for lengths and uncertainties far from the ends of the number range. */
export function hypot(a: number, b: number): number {
  return Math.sqrt(a * a + b * b);
}

/** x to a whole power n ≥ 0, by repeated squaring. */
export function power(x: number, n: number): number {
  let result = 1;
  let square = x;
  for (let rest = n; rest > 0; rest = Math.floor(rest / 2)) {
    if (rest % 2 === 1) result *= square;
    square *= square;
  }
  return result;
}

export function sinh(x: number): number {
  if (Math.abs(x) > 0.5) return (exp(x) - exp(-x)) / 2;
  // Power series: the difference above would lose its digits here. The next term is below 1e-16 of the first.
  const s = x * x;
  return (
    x * (1 + (s / 6) * (1 + (s / 20) * (1 + (s / 42) * (1 + (s / 72) * (1 + (s / 110) * (1 + s / 156))))))
  );
}

export function asinh(x: number): number {
  const size = Math.abs(x);
  const start = log(size + Math.sqrt(size * size + 1));
  // One Newton step brings back the digits a small argument loses in the logarithm.
  return Math.sign(x) * (start - (sinh(start) - size) / Math.sqrt(size * size + 1));
}
