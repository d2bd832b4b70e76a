import { startPage } from './dom/app.ts';

void startPage();
