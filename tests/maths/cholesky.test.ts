import { EigenvalueDecomposition, Matrix, SVD } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import { cholesky } from '../../src/maths/cholesky.ts';
import { Qr } from '../../src/maths/qr.ts';
import { legendre, TERMS } from '../../src/scan/web-fit.ts';
import { createRandom } from '../mechanics/random.ts';

describe('cholesky, against ml-matrix', () => {
  it('solves, and gives quadratic form and determinant of, random positive definite matrices', () => {
    const random = createRandom('positive definite');
    for (let n = 1; n <= 9; n++) {
      const a = new Matrix(
        Array.from({ length: n + 3 }, () => Array.from({ length: n }, () => random.normal())),
      );
      const m = a.transpose().mmul(a);
      const right = Array.from({ length: n }, () => random.normal());
      const factor = cholesky(Float64Array.from(m.to1DArray()), n)!;
      const solved = new SVD(m).solve(Matrix.columnVector(right)).getColumn(0);
      factor.solve(right).forEach((v, i) => {
        expect(v).toBeCloseTo(solved[i]!, 8);
      });
      const form = right.reduce((sum, r, i) => sum + r * solved[i]!, 0);
      expect(factor.forward(right).reduce((sum, v) => sum + v * v, 0)).toBeCloseTo(form, 8);
      const logs = new EigenvalueDecomposition(m).realEigenvalues.map(Math.log);
      expect(2 * factor.diagonal.reduce((sum, d) => sum + Math.log(d), 0)).toBeCloseTo(
        logs.reduce((sum, v) => sum + v, 0),
        8,
      );
    }
  });

  it('gives nothing for a matrix that is not positive definite', () => {
    expect(cholesky(Float64Array.of(1, 1, 1, 1), 2)).toBeNull();
    expect(cholesky(Float64Array.of(1, 2, 2, 1), 2)).toBeNull();
    expect(cholesky(Float64Array.of(Number.NaN), 1)).toBeNull();
  });

  it('loses nothing that counts on sums of the polynomials of a web seen over two thirds of its height: as QR has it', () => {
    // The normal matrix has a condition of some 10⁷ there: seven digits of sixteen.
    const heights = Array.from({ length: 400 }, (_, i) => -1 + (1.36 * i) / 399);
    const rows = heights.map((t) => legendre(t, TERMS));
    const across = heights.map((t) => 0.1 * t + 0.02 * Math.sin(5 * t));
    const gram = new Float64Array(TERMS * TERMS);
    const right = new Float64Array(TERMS);
    rows.forEach((row, i) => {
      row.forEach((v, a) => {
        right[a]! += v * across[i]!;
        row.forEach((w, b) => {
          gram[a * TERMS + b]! += v * w;
        });
      });
    });
    const qr = new Qr(heights.length);
    for (let k = 0; k < TERMS; k++) qr.push(Float64Array.from(rows, (row) => row[k]!));
    const byQr = qr.solve(qr.apply(Float64Array.from(across)));
    const bySums = cholesky(gram, TERMS)!.solve(right);
    // At the end that is not seen, m: where the difference is largest.
    const end = legendre(1, TERMS);
    const at = (c: ArrayLike<number>) => end.reduce((sum, v, k) => sum + v * c[k]!, 0);
    expect(Math.abs(at(bySums) - at(byQr))).toBeLessThan(1e-8);
  });
});
