export * from '../../src/practice/random.ts';
