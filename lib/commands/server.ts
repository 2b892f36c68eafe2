import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import { extname, join, normalize, sep } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { type Folder, fieldContours, makeScene, packScene, type Run, type Source } from '../index.ts';
import { packageRoot } from './sample.ts';

/** A fixed port, since a browser stores the user's work by origin; if taken, the next free one is used. */
export const PORT = 5719;
const TRIES = 20;

const TYPES: Record<string, string> = {
	'.html': 'text/html; charset=utf-8',
	'.js': 'text/javascript; charset=utf-8',
	'.css': 'text/css; charset=utf-8',
	'.json': 'application/json; charset=utf-8',
	'.svg': 'image/svg+xml',
	'.png': 'image/png',
	'.woff2': 'font/woff2',
	'.webmanifest': 'application/manifest+json',
};

/** Nothing is fetched from other machines, and no text from a file can become script. */
const POLICY = [
	"default-src 'none'",
	"script-src 'self'",
	"style-src 'self'",
	"img-src 'self' data: blob:",
	"font-src 'self'",
	"connect-src 'self'",
	"worker-src 'self'",
	"manifest-src 'self'",
	"base-uri 'none'",
	"form-action 'none'",
	"frame-ancestors 'none'",
].join('; ');

export interface Served {
	url: string;
	/** True where the fixed port was taken; the browser stores work separately for another port. */
	moved: boolean;
	server: Server;
}

/** Serves the viewer with one field opened, on the loopback address only. Writes nothing. */
export async function serve(run: Run, folder: Folder, port = PORT): Promise<Served> {
	const scene = packScene(makeScene(run, fieldContours(run)));
	const server = createServer((request, response) => {
		answer(request, response, scene, folder).catch(() => {
			// If a file disappears while being sent, end the response abnormally, so that no page takes a part for the whole.
			if (response.headersSent) response.destroy();
			else response.writeHead(500).end();
		});
	});
	for (let at = port; at < port + TRIES; at++) {
		if (await listens(server, at)) return { url: `http://127.0.0.1:${at}/`, moved: at !== port, server };
	}
	throw new Error(`ports ${port} to ${port + TRIES - 1} are all taken; close another view first`);
}

function listens(server: Server, port: number): Promise<boolean> {
	return new Promise((done, fail) => {
		const refused = (fault: NodeJS.ErrnoException) => {
			if (fault.code === 'EADDRINUSE' || fault.code === 'EACCES') done(false);
			else fail(fault);
		};
		server.once('error', refused);
		server.listen(port, '127.0.0.1', () => {
			server.off('error', refused);
			done(true);
		});
	});
}

async function answer(
	request: IncomingMessage,
	response: ServerResponse,
	scene: Uint8Array,
	folder: Folder,
): Promise<void> {
	response.setHeader('Content-Security-Policy', POLICY);
	response.setHeader('X-Content-Type-Options', 'nosniff');
	response.setHeader('Referrer-Policy', 'no-referrer');
	response.setHeader('Cross-Origin-Resource-Policy', 'same-origin');
	response.setHeader('Cache-Control', 'no-store');
	const refuse = (status: number) => {
		response.writeHead(status).end();
	};
	// Check the host name, so that a foreign page whose name resolves to this address cannot read the field.
	if (!/^(127\.0\.0\.1|localhost)(:\d+)?$/.test(request.headers.host ?? '')) return refuse(403);
	if (request.method !== 'GET' && request.method !== 'HEAD') return refuse(405);
	let path: string;
	try {
		path = decodeURIComponent(new URL(request.url ?? '/', 'http://127.0.0.1').pathname);
	} catch {
		return refuse(400);
	}
	const send = (type: string, bytes: Uint8Array | string) => {
		response.writeHead(200, { 'Content-Type': type });
		response.end(request.method === 'HEAD' ? undefined : bytes);
	};
	if (path === '/opened/scene.bin') return send('application/octet-stream', scene);
	if (path === '/opened/files.json') {
		const files = [...folder.values()].map((f) => ({ name: f.name, bytes: f.bytes ?? null }));
		return send(TYPES['.json']!, JSON.stringify(files));
	}
	if (path.startsWith('/opened/file/')) {
		const source = folder.get(path.slice('/opened/file/'.length));
		if (!source) return refuse(404);
		response.writeHead(200, { 'Content-Type': 'application/octet-stream' });
		if (request.method === 'HEAD') {
			response.end();
			return;
		}
		await pipeline(copies(source), response);
		return;
	}
	await sendPage(path, request, response, refuse);
}

/** A response may hold chunks for a while. */
async function* copies(source: Source): AsyncGenerator<Uint8Array> {
	for await (const chunk of source.chunks()) yield chunk.slice();
}

async function sendPage(
	path: string,
	request: IncomingMessage,
	response: ServerResponse,
	refuse: (status: number) => void,
): Promise<void> {
	const root = join(packageRoot, 'dist', 'viewer');
	const file = normalize(join(root, path === '/' ? 'index.html' : path));
	const about = file.startsWith(root + sep) ? await stat(file).catch(() => null) : null;
	if (!about?.isFile()) return refuse(404);
	response.writeHead(200, { 'Content-Type': TYPES[extname(file)] ?? 'application/octet-stream' });
	if (request.method === 'HEAD') {
		response.end();
		return;
	}
	await pipeline(createReadStream(file), response);
}
