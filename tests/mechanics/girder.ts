export * from '../../src/practice/girder.ts';
