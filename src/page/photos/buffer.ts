/** Stands for the global of that name that Node has: the readers of pictures speak of it (`build-page.mjs`). */
export { Buffer } from 'buffer/index.js';
