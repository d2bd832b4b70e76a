/** The package ships no types; only what is used here is declared. */
declare module 'ml-regression' {
  /** Straight line y = slope·x + intercept by ordinary least squares; computed in the constructor. */
  export class SimpleLinearRegression {
    constructor(x: readonly number[], y: readonly number[]);
    readonly slope: number;
    readonly intercept: number;
  }
}
