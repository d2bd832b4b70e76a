export * from '../../src/practice/section.ts';
