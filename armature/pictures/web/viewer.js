"use strict";
// Shows a packed scene in a canvas: turn, zoom, pick. Draws only when something has changed.
// `SHADE` holds the text of shade.glsl; the page puts it there.

const FIELD = 24 * Math.PI / 180;
// Pixels drawn for one of the page's while the view moves.
const MOVING = 0.5;
// Side of the picture in which an hour's shadows are kept.
const SHADOWS = 2048;

const VERTEX = `#version 300 es
in vec3 place; in vec3 normal; in vec3 colour; in vec3 light; in float mark; in float key;
uniform mat4 seen; uniform vec3 low; uniform vec3 span;
out vec3 worldPlace; out vec3 worldNormal; out vec3 tone; out vec3 reached; out float marked; flat out float keyed;
void main() {
  worldPlace = low + span * place;
  worldNormal = normal; tone = colour * colour; reached = light; marked = mark; keyed = key;
  gl_Position = seen * vec4(worldPlace, 1.0);
}`;

const UNIFORMS = `#version 300 es
precision highp float;
uniform vec3 skyZenith, skyHorizon, groundBounce, skyMean, sunColour, sunDirection; uniform float exposure, lampLit;
`;

const FRAGMENT = `
in vec3 worldPlace; in vec3 worldNormal; in vec3 tone; in vec3 reached; in float marked; flat in float keyed;
uniform vec3 eyePlace, finish; uniform vec2 fade; uniform float melts, slabs, asKeys, shadowed;
uniform highp sampler2DShadow shadows; uniform mat4 shade;
out vec4 drawn;
// The sun of an hour that was chosen: what it sees of this place.
float sunned() {
  vec3 outward = normalize(worldNormal);
  vec4 seen = shade * vec4(worldPlace + 6.0 * outward * sign(dot(outward, sunDirection)), 1.0);
  vec3 at = seen.xyz * 0.5 + 0.5;
  if (any(lessThan(at, vec3(0.0))) || any(greaterThan(at, vec3(1.0)))) return 1.0;
  float reach = 0.6 / float(textureSize(shadows, 0).x);
  return 0.25 * (texture(shadows, at + vec3(reach, reach, 0.0)) + texture(shadows, at + vec3(-reach, reach, 0.0))
    + texture(shadows, at + vec3(reach, -reach, 0.0)) + texture(shadows, at + vec3(-reach, -reach, 0.0)));
}
void main() {
  if (asKeys > 0.0) {
    drawn = vec4(mod(keyed, 256.0), floor(keyed / 256.0), asKeys, 255.0) / 255.0;
    return;
  }
  vec3 toEye = normalize(eyePlace - worldPlace);
  vec2 wide = abs(dFdx(worldPlace.xy)) + abs(dFdy(worldPlace.xy));
  vec3 base = slabs > 0.0 ? tone * paved(worldPlace.xy, wide) : tone;
  vec3 seen = shaded(base, normalize(worldNormal), toEye, vec3(reached.xy, shadowed > 0.0 ? sunned() : reached.z), finish.x, finish.y, finish.z);
  seen = mix(seen, backdrop(0.0), melts * smoothstep(fade.x, fade.y, length(worldPlace.xy)));
  vec3 warning = vec3(0.85, 0.10, 0.30) * (0.45 + 0.55 * abs(dot(normalize(worldNormal), toEye)));
  drawn = vec4(shown(mix(seen, warning, marked)), 1.0);
}`;

const SKY_VERTEX = `#version 300 es
uniform mat4 back; out vec3 ray;
void main() {
  vec2 corner = vec2(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0);
  vec4 far = back * vec4(corner, 1.0, 1.0);
  ray = far.xyz / far.w;
  gl_Position = vec4(corner, 0.9999999, 1.0);
}`;

const SKY_FRAGMENT = `
in vec3 ray; out vec4 drawn;
void main() { drawn = vec4(shown(backdrop(normalize(ray).z)), 1.0); }`;

// A packed scene is the length of its head, the head as JSON, and the arrays the head tells of.
function unpack(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  const kinds = { u8: Uint8Array, i8: Int8Array, u16: Uint16Array, u32: Uint32Array };
  const base = 4 + length + ((4 - length % 4) % 4);
  const array = ([kind, offset, count]) => new kinds[kind](buffer, base + offset, count);
  for (const part of head.parts) {
    for (const name of Object.keys(part.arrays)) part.arrays[name] = array(part.arrays[name]);
    // Faces come as differences from one to the next; the sum wraps round as the differences do.
    for (const faces of [part.arrays.faces, part.arrays.movingFaces]) {
      for (let at = 3; faces && at < faces.length; at += 1) faces[at] += faces[at - 3];
    }
  }
  head.tones = Object.fromEntries(Object.entries(head.tones).map(([age, where]) => [age, array(where)]));
  return head;
}

class Viewer {
  constructor(canvas, picked) {
    this.canvas = canvas;
    this.gl = canvas.getContext("webgl2", { antialias: true, alpha: false, preserveDrawingBuffer: true });
    if (!this.gl) throw new Error("This browser does not offer WebGL 2, which the tree is drawn with.");
    this.surface = this.program(VERTEX, UNIFORMS + SHADE + FRAGMENT);
    this.heavens = this.program(SKY_VERTEX, UNIFORMS + SHADE + SKY_FRAGMENT);
    this.shadows = this.shadowMap();
    this.view = { yaw: -90, pitch: 5, away: 1, target: [0, 0, 0] };
    this.hidden = new Set();
    this.age = "new";
    this.bare = false;
    this.frames = 0;
    this.listen(picked);
    new ResizeObserver(() => this.ask()).observe(canvas);
  }

  program(vertex, fragment) {
    const gl = this.gl, made = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader) || "shader");
      gl.attachShader(made, shader);
    }
    ["place", "normal", "colour", "light", "mark", "key"].forEach((name, at) => gl.bindAttribLocation(made, at, name));
    gl.linkProgram(made);
    if (!gl.getProgramParameter(made, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(made) || "shader");
    const places = new Map();
    made.at = (name) => {
      if (!places.has(name)) places.set(name, gl.getUniformLocation(made, name));
      return places.get(name);
    };
    return made;
  }

  shadowMap() {
    const gl = this.gl, texture = gl.createTexture(), frame = gl.createFramebuffer();
    gl.bindTexture(gl.TEXTURE_2D, texture);
    gl.texStorage2D(gl.TEXTURE_2D, 1, gl.DEPTH_COMPONENT24, SHADOWS, SHADOWS);
    for (const [name, value] of [["MIN_FILTER", "LINEAR"], ["MAG_FILTER", "LINEAR"], ["COMPARE_MODE", "COMPARE_REF_TO_TEXTURE"], ["COMPARE_FUNC", "LEQUAL"]]) {
      gl.texParameteri(gl.TEXTURE_2D, gl[`TEXTURE_${name}`], gl[value]);
    }
    gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.TEXTURE_2D, texture, 0);
    gl.drawBuffers([gl.NONE]);
    gl.readBuffer(gl.NONE);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    return { texture, frame, matrix: new Float32Array(16) };
  }

  // Shows the tree under another sky, with shadows of its sun; null: under its own.
  setSky(sky) { this.sky = sky; this.stale = true; this.ask(); }

  // What the sun sees, from so far off that its rays run side by side.
  castShadows() {
    const gl = this.gl, { low, high } = this.scene, out = this.sky.sunDirection;
    const unit = (v) => { const n = Math.hypot(...v); return v.map((x) => x / n); };
    const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    const right = unit(cross(Math.abs(out[2]) > 0.999 ? [0, 1, 0] : [0, 0, 1], out)), axes = [right, cross(out, right), out];
    const reach = [Math.max(-low[0], high[0]) * 1.6 + 900, Math.max(-low[1], high[1]) * 1.6 + 900];
    const spans = axes.map((axis) => {
      const across = reach[0] * Math.abs(axis[0]) + reach[1] * Math.abs(axis[1]), ends = [0, high[2] * 1.05 * axis[2]];
      return [Math.min(...ends) - across, Math.max(...ends) + across];
    });
    const matrix = this.shadows.matrix.fill(0);
    spans.forEach(([from, to], row) => {
      const scale = (row === 2 ? -2 : 2) / (to - from), middle = (from + to) / 2;
      for (let k = 0; k < 3; k++) matrix[4 * k + row] = scale * axes[row][k];
      matrix[12 + row] = -scale * middle;
    });
    matrix[15] = 1;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.shadows.frame);
    gl.viewport(0, 0, SHADOWS, SHADOWS);
    gl.clear(gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.useProgram(this.surface);
    gl.bindTexture(gl.TEXTURE_2D, null);
    gl.uniformMatrix4fv(this.surface.at("seen"), false, matrix);
    gl.uniform1f(this.surface.at("shadowed"), 0);
    // Pushed away a little, so that a surface does not shade itself between two pixels of the shadow's picture.
    gl.enable(gl.POLYGON_OFFSET_FILL);
    gl.polygonOffset(2, 4);
    for (const part of this.scene.parts) if (part.name !== "ground") this.drawPart(part, 0, true);
    gl.disable(gl.POLYGON_OFFSET_FILL);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    this.stale = false;
  }

  // Shows another scene; the camera stays unless `fit` is asked for or there was none.
  show(buffer, fit) {
    const first = !this.scene;
    for (const part of this.scene ? this.scene.parts : []) this.forget(part);
    this.scene = unpack(buffer);
    for (const part of this.scene.parts) this.upload(part);
    if (first || fit) this.fit();
    this.ask();
  }

  forget(part) {
    for (const each of Object.values(part.buffers)) this.gl.deleteBuffer(each);
    this.gl.deleteVertexArray(part.vao);
  }

  upload(part) {
    const gl = this.gl;
    part.buffers = {};
    part.vao = gl.createVertexArray();
    gl.bindVertexArray(part.vao);
    const kinds = { u8: gl.UNSIGNED_BYTE, i8: gl.BYTE, u16: gl.UNSIGNED_SHORT };
    const kind = (array) => array instanceof Int8Array ? kinds.i8 : array instanceof Uint8Array ? kinds.u8 : kinds.u16;
    const add = (at, name, array, size, normalised) => {
      part.buffers[name] = gl.createBuffer();
      gl.bindBuffer(gl.ARRAY_BUFFER, part.buffers[name]);
      gl.bufferData(gl.ARRAY_BUFFER, array, gl.DYNAMIC_DRAW);
      gl.enableVertexAttribArray(at);
      gl.vertexAttribPointer(at, size, kind(array), normalised, 0, 0);
    };
    const arrays = part.arrays;
    add(0, "place", arrays.place, 3, true);
    add(1, "normal", arrays.normal, 3, true);
    add(2, "colour", this.colours(part), 3, true);
    add(3, "light", this.lights(part), 3, true);
    part.marks = new Uint8Array(part.count);
    add(4, "mark", part.marks, 1, true);
    add(5, "key", arrays.key || new Uint16Array(part.count), 1, false);
    part.buffers.faces = gl.createBuffer();
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, part.buffers.faces);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, arrays.faces, gl.STATIC_DRAW);
    if (arrays.movingFaces) {
      part.buffers.movingFaces = gl.createBuffer();
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, part.buffers.movingFaces);
      gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, arrays.movingFaces, gl.STATIC_DRAW);
    }
    gl.bindVertexArray(null);
  }

  // A hidden figure leaves no shadow behind.
  lights(part) {
    const { light, bareLight, aloneLight, bareAloneLight } = part.arrays, alone = this.hidden.has("figure");
    if (this.bare && bareLight) return alone && bareAloneLight ? bareAloneLight : bareLight;
    return alone && aloneLight ? aloneLight : light;
  }

  colours(part) {
    if (part.name !== "leaves") return part.arrays.colour;
    const tones = this.scene.tones[this.age], keys = part.arrays.key, found = new Uint8Array(3 * part.count);
    for (let at = 0; at < part.count; at++) {
      for (let k = 0; k < 3; k++) found[3 * at + k] = tones[3 * keys[at] + k];
    }
    return found;
  }

  replace(name, pick) {
    const gl = this.gl;
    for (const part of this.scene ? this.scene.parts : []) {
      gl.bindBuffer(gl.ARRAY_BUFFER, part.buffers[name]);
      gl.bufferData(gl.ARRAY_BUFFER, pick(part), gl.DYNAMIC_DRAW);
    }
    this.ask();
  }

  setBare(bare) { this.bare = bare; this.stale = true; this.replace("light", (part) => this.lights(part)); }
  setAge(age) { this.age = age; this.replace("colour", (part) => this.colours(part)); }
  setHidden(name, hidden) { hidden ? this.hidden.add(name) : this.hidden.delete(name); this.stale = true; this.replace("light", (part) => this.lights(part)); }

  // Colours the members of the given rows, and leaves; `share` from 0 to 1 says how strongly.
  mark(rows, share = 0.85, leaves = []) {
    const wanted = { steel: new Set(rows), "moving steel": new Set(rows), leaves: new Set(leaves) };
    this.replace("mark", (part) => {
      const own = wanted[part.name], keys = part.arrays.key;
      for (let at = 0; own && at < part.count; at++) part.marks[at] = own.has(keys[at]) ? 255 * share : 0;
      return part.marks;
    });
  }

  fit() {
    const { low, high } = this.scene;
    const wide = Math.hypot(high[0] - low[0], high[1] - low[1]) / 2, tall = (high[2] - low[2]) / 2;
    const half = Math.tan(FIELD / 2) * 0.9, aspect = Math.max(this.canvas.clientWidth, 1) / Math.max(this.canvas.clientHeight, 1);
    this.view.target = [0, 0, (low[2] + high[2]) / 2];
    this.view.home = Math.max(tall / half, 0.82 * wide / (half * aspect)) + 0.5 * wide;
    this.view.away = this.view.home;
  }

  home() { Object.assign(this.view, { yaw: -90, pitch: 5 }); this.fit(); this.ask(); }

  turn(yaw, pitch) {
    this.view.yaw = (this.view.yaw + yaw) % 360;
    this.view.pitch = Math.min(Math.max(this.view.pitch + pitch, -4), 89);
    this.go();
  }

  zoom(factor) {
    const { home } = this.view;
    this.view.away = Math.min(Math.max(this.view.away * factor, home * 0.06), home * 2.2);
    this.go();
  }

  slide(right, up) {
    const { yaw, away } = this.view, scale = away * Math.tan(FIELD / 2) * 2 / this.canvas.clientHeight, a = yaw * Math.PI / 180;
    this.view.target[0] += -Math.sin(a) * -right * scale;
    this.view.target[1] += Math.cos(a) * -right * scale;
    this.view.target[2] = Math.max(this.view.target[2] + up * scale, 0);
    this.go();
  }

  // While the view moves less is drawn, where the scene holds less; the whole comes back when the hand rests.
  go() {
    if (this.scene && this.scene.moving) {
      this.moving = true;
      clearTimeout(this.rest);
    }
    this.ask();
  }

  ask() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => { this.asked = false; this.draw(); });
  }

  eye() {
    const { yaw, pitch, away, target } = this.view, a = yaw * Math.PI / 180, e = pitch * Math.PI / 180;
    const eye = [target[0] + away * Math.cos(a) * Math.cos(e), target[1] + away * Math.sin(a) * Math.cos(e), target[2] + away * Math.sin(e)];
    // Nobody looks out of the ground.
    eye[2] = Math.max(eye[2], 60);
    return eye;
  }

  matrices() {
    const eye = this.eye(), { target, away, home } = this.view, aspect = this.canvas.width / this.canvas.height;
    const unit = (v) => { const n = Math.hypot(...v); return v.map((x) => x / n); };
    const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    const back = unit(eye.map((x, k) => x - target[k])), right = unit(cross([0, 0, 1], back)), up = cross(back, right);
    const f = 1 / Math.tan(FIELD / 2), near = Math.max(away - home, 0.02 * away), far = away + 14 * home;
    const z = (far + near) / (near - far), w = 2 * far * near / (near - far);
    const seen = new Float32Array(16);
    for (let k = 0; k < 3; k++) {
      seen[4 * k] = f / aspect * right[k]; seen[4 * k + 1] = f * up[k]; seen[4 * k + 2] = z * back[k]; seen[4 * k + 3] = -back[k];
    }
    seen[12] = -f / aspect * dot(right, eye); seen[13] = -f * dot(up, eye); seen[14] = -z * dot(back, eye) + w; seen[15] = dot(back, eye);
    // From a corner of the picture to the direction seen there.
    const ray = new Float32Array(16);
    for (let k = 0; k < 3; k++) { ray[k] = aspect / f * right[k]; ray[4 + k] = up[k] / f; ray[8 + k] = -back[k]; }
    ray[15] = 1;
    return { eye, seen, ray };
  }

  draw(asKeys = false) {
    const gl = this.gl, dense = asKeys ? 1 : this.moving ? MOVING : Math.min(window.devicePixelRatio || 1, 2);
    const wide = Math.round(this.canvas.clientWidth * dense), high = Math.round(this.canvas.clientHeight * dense);
    if (!this.scene || !wide || !high) return;
    if (this.canvas.width !== wide || this.canvas.height !== high) { this.canvas.width = wide; this.canvas.height = high; }
    gl.viewport(0, 0, wide, high);
    gl.clearColor(0, 0, 0, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    const { eye, seen, ray } = this.matrices(), casts = this.sky && !asKeys && this.sky.sunColour.some((x) => x > 0);
    if (casts && this.stale) {
      this.castShadows();
      gl.viewport(0, 0, wide, high);
    }
    this.triangles = 0;
    if (!asKeys) this.drawSky(ray);
    gl.useProgram(this.surface);
    this.giveSky(this.surface);
    gl.bindTexture(gl.TEXTURE_2D, this.shadows.texture);
    gl.uniform1f(this.surface.at("shadowed"), casts ? 1 : 0);
    gl.uniformMatrix4fv(this.surface.at("shade"), false, this.shadows.matrix);
    gl.uniformMatrix4fv(this.surface.at("seen"), false, seen);
    gl.uniform3fv(this.surface.at("eyePlace"), eye);
    gl.uniform2fv(this.surface.at("fade"), this.scene.fade);
    this.scene.parts.forEach((part, number) => this.drawPart(part, asKeys ? number + 1 : 0));
    gl.bindVertexArray(null);
    if (asKeys) return;
    if (this.moving) {
      // From when it was drawn: a slow machine must not take its own slowness for rest.
      clearTimeout(this.rest);
      this.rest = setTimeout(() => { this.moving = false; this.ask(); }, 300);
    }
    this.frames += 1;
    this.canvas.dataset.frames = this.frames;
    if (this.drawn) this.drawn((place) => this.onCanvas(place, seen));
  }

  // Where a place in mm falls on the canvas, in its own pixels, or null behind the eye.
  onCanvas(place, seen) {
    const at = (row) => seen[row] * place[0] + seen[4 + row] * place[1] + seen[8 + row] * place[2] + seen[12 + row], depth = at(3);
    if (depth <= 0) return null;
    return [(at(0) / depth + 1) / 2 * this.canvas.clientWidth, (1 - at(1) / depth) / 2 * this.canvas.clientHeight];
  }

  drawSky(ray) {
    const gl = this.gl;
    gl.useProgram(this.heavens);
    this.giveSky(this.heavens);
    gl.uniformMatrix4fv(this.heavens.at("back"), false, ray);
    gl.depthMask(false);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.depthMask(true);
  }

  drawPart(part, asKeys, whole = false) {
    const gl = this.gl, at = this.surface.at;
    if (this.hidden.has(part.name) || (this.bare && ["leaves", "loops"].includes(part.name))) return;
    if (asKeys && !["steel", "leaves"].includes(part.name)) return;
    const moving = this.moving && !asKeys && !whole;
    if (moving ? ["steel", "loops"].includes(part.name) : part.name === "moving steel") return;
    gl.uniform3fv(at("low"), part.low);
    gl.uniform3fv(at("span"), part.span);
    gl.uniform3fv(at("finish"), part.name === "leaves" ? this.scene.finishes[this.age] : part.finish);
    gl.uniform1f(at("melts"), part.name === "ground" ? 1 : 0);
    gl.uniform1f(at("slabs"), part.name === "ground" && this.scene.paved ? 1 : 0);
    gl.uniform1f(at("asKeys"), asKeys);
    gl.bindVertexArray(part.vao);
    const faces = moving && part.arrays.movingFaces ? "movingFaces" : "faces";
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, part.buffers[faces]);
    gl.drawElements(gl.TRIANGLES, part.arrays[faces].length, gl.UNSIGNED_INT, 0);
    this.triangles += part.arrays[faces].length / 3;
  }

  giveSky(program) {
    this.gl.uniform1f(program.at("lampLit"), 0);
    for (const [name, value] of Object.entries(this.sky || this.scene.sky)) {
      typeof value === "number" ? this.gl.uniform1f(program.at(name), value) : this.gl.uniform3fv(program.at(name), value);
    }
  }

  // What lies under a place of the canvas: { part, row } or null. Looks a few pixels around, as twigs are thin.
  pick(x, y) {
    this.draw(true);
    const gl = this.gl, reach = 4, side = 2 * reach + 1, found = new Uint8Array(4 * side * side);
    gl.readPixels(Math.round(x) - reach, this.canvas.height - Math.round(y) - reach - 1, side, side, gl.RGBA, gl.UNSIGNED_BYTE, found);
    this.draw();
    let best = null, nearest = Infinity;
    for (let at = 0; at < side * side; at++) {
      const off = Math.hypot(at % side - reach, Math.floor(at / side) - reach), part = this.scene.parts[found[4 * at + 2] - 1];
      if (part && off < nearest) { nearest = off; best = { part: part.name, row: found[4 * at] + 256 * found[4 * at + 1] }; }
    }
    return best;
  }

  listen(picked) {
    const canvas = this.canvas, down = new Map();
    let moved = 0, spread = 0;
    const gap = () => { const [a, b] = [...down.values()]; return Math.hypot(a.x - b.x, a.y - b.y); };
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      down.set(event.pointerId, { x: event.clientX, y: event.clientY });
      moved = 0;
      if (down.size === 2) spread = gap();
    });
    canvas.addEventListener("pointermove", (event) => {
      const from = down.get(event.pointerId);
      if (!from) return;
      const right = event.clientX - from.x, below = event.clientY - from.y;
      down.set(event.pointerId, { x: event.clientX, y: event.clientY });
      moved += Math.abs(right) + Math.abs(below);
      if (down.size === 2) {
        const now = gap();
        this.zoom(spread / Math.max(now, 1));
        spread = now;
        this.slide(right / 2, below / 2);
      } else if (event.shiftKey || event.buttons === 4) this.slide(right, below);
      else this.turn(-right * 0.35, below * 0.3);
    });
    const up = (event) => {
      const tapped = down.delete(event.pointerId) && moved < 5 && event.type === "pointerup";
      if (tapped && picked && this.scene) {
        const box = canvas.getBoundingClientRect();
        picked(this.pick(event.clientX - box.left, event.clientY - box.top));
      }
    };
    canvas.addEventListener("pointerup", up);
    canvas.addEventListener("pointercancel", up);
    canvas.addEventListener("wheel", (event) => { event.preventDefault(); this.zoom(Math.exp(event.deltaY * 0.0012)); }, { passive: false });
    canvas.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: [-8, 0], ArrowRight: [8, 0], ArrowUp: [0, 5], ArrowDown: [0, -5] }[event.key];
      if (step) this.turn(...step);
      else if (event.key === "+" || event.key === "=") this.zoom(0.88);
      else if (event.key === "-") this.zoom(1.14);
      else if (event.key === "Home") this.home();
      else return;
      event.preventDefault();
    });
  }
}
