/** The programs that color swaths. */

/** Texels of the lookup texture. */
export const LUT = 1024;

export const WIDTH = 2048;

export const EARTH_M = 2 * Math.PI * 6378137;

const vertexSource = `#version 300 es
precision highp float;
precision highp sampler2D;
precision highp usampler2D;
layout(location = 0) in vec2 a_place;
uniform mat4 u_matrix;
uniform sampler2D u_after;
uniform sampler2D u_before;
uniform sampler2D u_time;
uniform usampler2D u_state;
uniform sampler2D u_lut;
uniform vec2 u_range;
uniform float u_until;
uniform uint u_mask;
uniform float u_faint;
flat out vec4 v_after;
flat out vec4 v_before;

vec4 color(float value) {
	if (!(value > -1e30)) return vec4(0.0);
	float t = clamp((value - u_range.x) / (u_range.y - u_range.x), 0.0, 1.0);
	return texelFetch(u_lut, ivec2(int(t * ${LUT - 1}.0 + 0.5), 0), 0);
}

void main() {
	int record = gl_VertexID >> 2;
	ivec2 at = ivec2(record & ${WIDTH - 1}, record >> 11);
	vec4 after = color(texelFetch(u_after, at, 0).r);
	vec4 before = color(texelFetch(u_before, at, 0).r);
	bool late = texelFetch(u_time, at, 0).r > u_until;
	if (late || after.a + before.a == 0.0) {
		gl_Position = vec4(2.0, 2.0, 2.0, 1.0);
		return;
	}
	uint state = texelFetch(u_state, at, 0).r;
	float alpha = (state & u_mask) == u_mask ? 1.0 : u_faint;
	v_after = after * alpha;
	v_before = before * alpha;
	gl_Position = u_matrix * vec4(a_place, 0.0, 1.0);
}`;

const fragmentSource = `#version 300 es
precision mediump float;
flat in vec4 v_after;
flat in vec4 v_before;
uniform float u_split;
out vec4 color;
void main() {
	color = gl_FragCoord.x < u_split ? v_before : v_after;
}`;

export function link(gl: WebGL2RenderingContext): WebGLProgram {
	const program = gl.createProgram()!;
	for (const [kind, source] of [
		[gl.VERTEX_SHADER, vertexSource],
		[gl.FRAGMENT_SHADER, fragmentSource],
	] as const) {
		const shader = gl.createShader(kind)!;
		gl.shaderSource(shader, source);
		gl.compileShader(shader);
		if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader) ?? 'shader');
		gl.attachShader(program, shader);
	}
	gl.linkProgram(program);
	if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program) ?? 'program');
	return program;
}
