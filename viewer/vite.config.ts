import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

/** Two builds: the page that `view` serves (default), and with `--mode tablet` the installable folder. */
export default defineConfig(({ mode }) => ({
	root: fileURLToPath(new URL('.', import.meta.url)),
	base: './',
	build: {
		outDir: fileURLToPath(new URL(mode === 'tablet' ? '../dist/tablet' : '../dist/viewer', import.meta.url)),
		emptyOutDir: true,
		target: 'es2022',
		// No inline scripts or styles: the content-security policy refuses them.
		assetsInlineLimit: 0,
		cssCodeSplit: true,
		modulePreload: { polyfill: false },
	},
	worker: { format: 'es' as const },
}));
