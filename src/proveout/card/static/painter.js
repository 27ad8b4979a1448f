/** The least of WebGL 2 that the picture needs: faces, lines, and one picture on top of the sheet. */

const CORNERS = `#version 300 es
in vec3 place; in vec4 tone;
uniform mat4 seen; uniform vec3 shift; uniform vec2 size;
out vec4 colour; out vec2 at;
void main() {
  colour = tone;
  at = place.xy / size;
  gl_Position = seen * vec4(place + shift, 1.0);
}`;

// a colour without opacity stands for what the picture of the top has at that place
const PIXELS = `#version 300 es
precision mediump float;
in vec4 colour; in vec2 at;
uniform sampler2D top; uniform float opacity;
out vec4 drawn;
void main() {
  drawn = vec4(colour.a > 0.5 ? colour.rgb : texture(top, at).rgb, opacity);
}`;

// the face of the sheet as one rectangle, open wherever the picture of the top is half opaque: it was cut there
const FACE = `#version 300 es
precision mediump float;
in vec4 colour; in vec2 at;
uniform sampler2D top; uniform float opacity;
out vec4 drawn;
void main() {
  vec4 here = texture(top, at);
  if (here.a < 0.75) discard;
  drawn = vec4(here.rgb, 1.0);
}`;

const UNIFORMS = ["seen", "shift", "size", "top", "opacity"];

/** Draws on a canvas. @throws {Error} a browser without WebGL 2 */
export class Painter {
  constructor(canvas) {
    const gl = canvas.getContext("webgl2", { alpha: false, antialias: false, powerPreference: "high-performance" });
    if (!gl) throw new Error("no WebGL 2");
    this.gl = gl;
    [this.plain, this.face] = [PIXELS, FACE].map((pixels) => prepared(gl, pixels));
    this.#use(this.plain);
    gl.enable(gl.DEPTH_TEST);
    gl.enable(gl.CULL_FACE);
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    this.corners = gl.createBuffer(); // indices of quads, four corners each
    this.quads = 0;
    this.top = gl.createTexture();
  }

  #use(way) {
    this.gl.useProgram(way.program);
    this.places = way.places;
  }

  /** The picture of the sheet's top: (rows, columns, 4) bytes over `size` mm from (0, 0). */
  setTop(pixels, columns, rows, size) {
    const { gl } = this;
    gl.bindTexture(gl.TEXTURE_2D, this.top);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, columns, rows, 0, gl.RGBA, gl.UNSIGNED_BYTE, pixels);
    for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, name, gl.NEAREST);
    for (const name of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, name, gl.CLAMP_TO_EDGE);
    this.size = size;
  }

  /** Begin a picture: everything as the paper is. @param {number[]} paper 0 to 255 */
  begin(matrix, paper) {
    const { gl } = this;
    gl.viewport(0, 0, gl.drawingBufferWidth, gl.drawingBufferHeight);
    gl.clearColor(paper[0] / 255, paper[1] / 255, paper[2] / 255, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    for (const way of [this.face, this.plain]) {
      this.#use(way);
      gl.uniformMatrix4fv(way.places.seen, false, matrix);
      gl.uniform1f(way.places.opacity, 1);
      gl.uniform3f(way.places.shift, 0, 0, 0);
      gl.uniform2f(way.places.size, ...(this.size ?? [1, 1]));
    }
  }

  /** Draw the face of the sheet, as far as it is uncut. */
  drawFace(body) {
    this.#use(this.face);
    this.draw(body);
    this.#use(this.plain);
  }

  /** A body that is drawn again and again; give it its vertices with `fill`. */
  body() {
    const { gl } = this;
    const [state, buffer] = [gl.createVertexArray(), gl.createBuffer()];
    gl.bindVertexArray(state);
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.enableVertexAttribArray(0);
    gl.enableVertexAttribArray(1);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 16, 0);
    gl.vertexAttribPointer(1, 4, gl.UNSIGNED_BYTE, true, 16, 12);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, this.corners);
    return { state, buffer, count: 0 };
  }

  /** Vertices of 16 bytes: x, y, z and four bytes of colour. */
  fill(body, bytes, count) {
    const { gl } = this;
    gl.bindBuffer(gl.ARRAY_BUFFER, body.buffer);
    gl.bufferData(gl.ARRAY_BUFFER, new Uint8Array(bytes, 0, 16 * count), gl.DYNAMIC_DRAW);
    body.count = count;
  }

  /** @param {number} kind gl.TRIANGLES or gl.LINES */
  draw(body, kind = this.gl.TRIANGLES) {
    if (!body.count) return;
    this.gl.bindVertexArray(body.state);
    this.gl.drawArrays(kind, 0, body.count);
  }

  drawQuads(body) {
    const { gl } = this;
    const quads = body.count / 4;
    gl.bindVertexArray(body.state);
    if (quads > this.quads) this.#number(quads);
    gl.drawElements(gl.TRIANGLES, 6 * quads, gl.UNSIGNED_INT, 0);
  }

  #number(quads) {
    this.quads = Math.ceil(quads * 1.5);
    const corners = new Uint32Array(6 * this.quads);
    for (let quad = 0; quad < this.quads; quad += 1) {
      corners.set([0, 1, 2, 0, 2, 3].map((corner) => 4 * quad + corner), 6 * quad);
    }
    this.gl.bufferData(this.gl.ELEMENT_ARRAY_BUFFER, corners, this.gl.STATIC_DRAW);
  }

  /** What is drawn next stands elsewhere by so many mm. */
  shifted([x, y, z]) {
    this.gl.uniform3f(this.places.shift, x, y, z);
  }

  /** Draw something faintly that stands behind other things. */
  through(draw) {
    this.gl.disable(this.gl.DEPTH_TEST);
    this.faintly(0.3, draw);
    this.gl.enable(this.gl.DEPTH_TEST);
  }

  /** Draw what lets other things shine through. */
  faintly(opacity, draw) {
    const { gl } = this;
    gl.enable(gl.BLEND);
    gl.depthMask(false);
    gl.uniform1f(this.places.opacity, opacity);
    draw();
    gl.uniform1f(this.places.opacity, 1);
    gl.depthMask(true);
    gl.disable(gl.BLEND);
  }
}

function prepared(gl, pixels) {
  const program = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, CORNERS], [gl.FRAGMENT_SHADER, pixels]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
  }
  gl.bindAttribLocation(program, 0, "place");
  gl.bindAttribLocation(program, 1, "tone");
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program) ?? "no program");
  return { program, places: Object.fromEntries(UNIFORMS.map((name) => [name, gl.getUniformLocation(program, name)])) };
}
