import { defineConfig } from 'vite';
import react from '@vitejs/plugin-react';

// The page is served from the loopback server; everything it needs is in this folder.
export default defineConfig({
  root: 'src/page',
  base: './',
  plugins: [react()],
  build: { outDir: '../../dist/page', emptyOutDir: true, chunkSizeWarningLimit: 1500 },
  worker: { format: 'es' },
});
