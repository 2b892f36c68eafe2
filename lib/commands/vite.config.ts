import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

/**
 * The command as one file and a few chunks that are loaded when a format needs them: opening some 500 modules one by
 * one would take longer than reading a field.
 */
export default defineConfig({
	// LGPL: stays a package of its own, which anyone can replace.
	ssr: { noExternal: true, external: ['geojson-validation'], target: 'node' },
	build: {
		ssr: fileURLToPath(new URL('main.ts', import.meta.url)),
		outDir: fileURLToPath(new URL('../../dist/lib/commands', import.meta.url)),
		emptyOutDir: true,
		target: 'node20',
		minify: false,
		license: { fileName: 'licenses.md' },
	},
	logLevel: 'warn',
});
