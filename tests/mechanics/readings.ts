export * from '../../src/practice/readings.ts';
