import type { JobUnits } from '../job/job.ts';

const INCH = 0.0254;

/** A rate, a movement or an uncertainty: decimals of an inch or of a millimetre, finer than the trade's fractions. */
export function fine(metres: number, units: JobUnits): string {
  return units === 'us' ? `${significant(metres / INCH, 3)} in` : `${significant(metres * 1000, 2)} mm`;
}

/** A bend or its rate in degrees, finer than a tool that measures one: what a useful gain turns is a hundredth of a degree. */
export function degrees(radians: number): string {
  return `${significant((radians * 180) / Math.PI, 3)}°`;
}

export function percent(probability: number): string {
  if (probability > 0.99) return 'over 99 %';
  if (probability < 0.01) return 'under 1 %';
  return `${Math.round(probability * 100)} %`;
}

export function cycles(count: number): string {
  return count === 1 ? '1 cycle' : `${count} cycles`;
}

function significant(value: number, decimals: number): string {
  const text = value.toFixed(decimals).replace(/^-(0(?:\.0*)?)$/, '$1');
  return text.replace(/(\.\d*?)0+$/, '$1').replace(/\.$/, '');
}
