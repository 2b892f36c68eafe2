/**
 * The folder that is installed on a tablet: the same page, static files for any HTTPS host, made whole for use with
 * no network by a service worker. Only this build has one.
 */
import { fileURLToPath } from 'node:url';
import { defineConfig, mergeConfig, type UserConfig } from 'vite';
import { VitePWA } from 'vite-plugin-pwa';
import page from './vite.config.ts';

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));

export default defineConfig((env) => {
	const base = (page as (e: typeof env) => UserConfig)(env);
	return mergeConfig(base, {
		mode: 'tablet',
		publicDir: here('./book/public'),
		build: { outDir: here('../dist-tablet') },
		plugins: [
			VitePWA({
				strategies: 'generateSW',
				// A new version waits until the page is closed: it never changes under the operator's hands.
				registerType: 'prompt',
				// A script file of its own: the content-security policy refuses inline ones.
				injectRegister: 'script-defer',
				workbox: {
					globPatterns: ['**/*.{html,js,css,woff2,svg,png,webmanifest,json}'],
					maximumFileSizeToCacheInBytes: 12 * 1024 * 1024,
					navigateFallback: 'index.html',
					cleanupOutdatedCaches: true,
					clientsClaim: true,
					skipWaiting: false,
					inlineWorkboxRuntime: true,
					sourcemap: false,
				},
				manifest: {
					name: 'Steelyard',
					short_name: 'Steelyard',
					description: 'The load book: dumps, trucks and tickets, and how far off each monitor reads.',
					start_url: './index.html#/book/now',
					scope: './',
					id: './',
					display: 'standalone',
					background_color: '#f8f4eb',
					theme_color: '#17556b',
					icons: [
						{ src: 'icon-192.png', sizes: '192x192', type: 'image/png', purpose: 'any' },
						{ src: 'icon-512.png', sizes: '512x512', type: 'image/png', purpose: 'any' },
						{ src: 'icon-512-maskable.png', sizes: '512x512', type: 'image/png', purpose: 'maskable' },
					],
				},
			}),
		],
	} satisfies UserConfig);
});
