export * from '../../src/practice/beam.ts';
