// Colour of a surface under sky and sun, in linear light, and its way to the screen.
// The same lines run in the picture maker and in the client's page; shade.py says the same in numpy.
vec3 skyward(float rise, float rough) {
  vec3 high = mix(skyHorizon, skyZenith, pow(clamp(rise, 0.0, 1.0), 0.55));
  float soft = 0.04 + 0.9 * rough;
  return mix(groundBounce, high, smoothstep(-soft, soft, rise));
}
// How light the slabs of a courtyard are at a place in mm, 1 in the mean; wide: how much of it one pixel covers.
float paved(vec2 place, vec2 wide) {
  vec2 laid = (place - vec2(130.0, 170.0)) / vec2(900.0, 600.0);
  float row = floor(laid.y);
  laid.x += 0.5 * mod(row, 2.0);
  vec2 inside = laid - vec2(floor(laid.x), row);
  vec2 off = min(inside, 1.0 - inside) * vec2(900.0, 600.0);
  vec2 wider = max(wide, vec2(0.01));
  vec2 cover = clamp((4.0 + 0.5 * wider - off) / wider, 0.0, 1.0) * min(vec2(1.0), 8.0 / wider);
  float joint = 1.0 - (1.0 - cover.x) * (1.0 - cover.y);
  float draw = fract(0.7548777 * floor(laid.x) + 0.5698403 * row);
  draw = fract(draw * draw * 37.0 + draw * 11.0);
  float near = 1.0 - smoothstep(0.25, 1.0, max(wider.x / 900.0, wider.y / 600.0));
  return (1.0 + 0.16 * (draw - 0.5) * near) * (1.0 - 0.45 * joint);
}
vec3 backdrop(float rise) {
  return mix(skyHorizon, skyZenith, pow(clamp(rise, 0.0, 1.0), 0.6));
}
vec3 shaded(vec3 base, vec3 normal, vec3 view, vec3 light, float rough, float metal, float bothSides) {
  float facing = dot(normal, view);
  float turn = bothSides > 0.5 && facing < 0.0 ? -1.0 : 1.0;
  vec3 n = normal * turn;
  float open = turn > 0.0 ? light.x : light.y;
  float nv = clamp(abs(facing), 0.04, 1.0);
  float nl = dot(n, sunDirection);
  float sun = light.z * mix(clamp(nl, 0.0, 1.0), 1.0, lampLit);
  vec3 diffuse = base * (1.0 - metal);
  vec3 f0 = mix(vec3(0.04), base, metal);
  vec3 around = mix(groundBounce, skyMean, 0.5 + 0.5 * n.z) * open;
  vec3 colour = (diffuse + 0.35 * metal * base) * (around + sunColour * sun);
  vec3 h = normalize(sunDirection + view);
  float nh = clamp(dot(n, h), 0.0, 1.0);
  float a2 = pow(rough, 4.0);
  float d = nh * nh * (a2 - 1.0) + 1.0;
  float lobe = a2 / (4.0 * d * d * max(dot(view, h) * dot(view, h), 0.1) * (rough + 0.5));
  vec3 glance = f0 + (max(vec3(1.0 - rough), f0) - f0) * pow(1.0 - nv, 5.0);
  vec3 mirrored = reflect(-view, n);
  colour += glance * skyward(mirrored.z, rough) * open * open;
  colour += glance * sunColour * min(lobe, 6.0) * sun * (1.0 - lampLit);
  return colour;
}
vec3 shown(vec3 colour) {
  vec3 x = colour * exposure;
  vec3 toned = clamp((x * (2.51 * x + 0.03)) / (x * (2.43 * x + 0.59) + 0.14), 0.0, 1.0);
  return mix(12.92 * toned, 1.055 * pow(max(toned, vec3(1e-5)), vec3(1.0 / 2.4)) - 0.055, step(0.0031308, toned));
}
