import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

/** The page that `view` serves; tablet.config.ts makes the installable folder from it. */
export default defineConfig(() => ({
	root: fileURLToPath(new URL('.', import.meta.url)),
	base: './',
	build: {
		outDir: fileURLToPath(new URL('../dist/viewer', import.meta.url)),
		emptyOutDir: true,
		target: 'es2022',
		// No inline scripts or styles: the content-security policy refuses them.
		assetsInlineLimit: 0,
		cssCodeSplit: true,
		modulePreload: { polyfill: false },
		license: { fileName: 'licenses.md' },
	},
	worker: { format: 'es' as const },
}));
