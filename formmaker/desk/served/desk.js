/* The hands of the desk: presses, drags and keys in, one question to formmaker at a time, the newest drag only.
   It places no geometry: places on the paper come from the drawings' own millimetres, answers from formmaker. */
(() => {
  'use strict';

  // ---- asking -------------------------------------------------------------------------------------------------
  const PASSING = new Set(['drag', 'look']);
  const PATIENCE = 20000; // ms after which a question without an answer is given up
  const me = Math.random().toString(36).slice(2, 8);
  const waiting = [];
  const times = []; // ms from the hand's move to the frame that shows the answer, for the benchmark
  let count = 0, open = null;

  function ask(name, data = {}) {
    const last = waiting[waiting.length - 1], began = performance.now();
    if (last && last.name === name && PASSING.has(name)) Object.assign(last, { data, began });
    else if (last && name === 'nudge' && last.name === name && last.data.centre === data.centre && last.data.theta === data.theta)
      last.data.steps += data.steps;
    else waiting.push({ name, data, began });
    next();
  }

  function next() {
    if (open || !waiting.length || !window.trame) return;
    const wish = waiting.shift();
    open = { id: `${me}-${++count}`, name: wish.name, began: wish.began };
    open.timer = setTimeout(() => { open = null; next(); }, PATIENCE);
    window.trame.trigger('ask', [wish.name, wish.data, open.id]).catch(() => settle());
  }

  function settle() {
    if (!open) return;
    clearTimeout(open.timer);
    const { name, began } = open;
    open = null;
    requestAnimationFrame(() => setTimeout(() => {
      times.push({ name, ms: performance.now() - began });
      if (times.length > 2000) times.shift();
    }));
    next();
  }

  function answered() {
    const said = document.getElementById('answered');
    if (open && said && said.textContent.includes(open.id)) settle();
  }

  window.desk = { ask, times, idle: () => !open && !waiting.length };

  // ---- presses ------------------------------------------------------------------------------------------------
  const FIGURES = new Set(['theta', 'height', 'steps', 'number']);

  function wishOf(element) {
    const data = {};
    for (const [key, value] of Object.entries(element.dataset))
      if (!['act', 'change'].includes(key)) data[key] = FIGURES.has(key) ? Number(value) : value;
    if (element.dataset.act === 'nudge') data.steps = 1;
    if (data.from) data.value = document.getElementById(data.from).value;
    return data;
  }

  document.addEventListener('click', (event) => {
    const pressed = event.target.closest('[data-act]');
    if (pressed && !('change' in pressed.dataset) && !pressed.disabled) ask(pressed.dataset.act, wishOf(pressed));
    const look = event.target.closest('[data-look]');
    if (look) stand(look.dataset.look);
    const marking = event.target.closest('[data-marking]');
    if (marking) choose(marking.dataset.marking);
    if (event.target.closest('[data-theme-switch]')) switchTheme();
    if (event.target.closest('#turn')) turn();
  });

  document.addEventListener('change', (event) => {
    const field = event.target.closest('[data-act][data-change]');
    if (!field || field.dataset.act === 'shape-chosen') return;
    ask(field.dataset.act, { ...wishOf(field), value: field.value });
    if (field.tagName === 'INPUT') field.dataset.typed = '1';
  });

  // A figure that was refused goes back to what the job says.
  document.addEventListener('focusout', (event) => {
    const field = event.target.closest('input[data-key]');
    if (field && field.dataset.typed) setTimeout(() => restore(field), 1200);
  });

  function restore(field) {
    delete field.dataset.typed;
    const fields = window.trame.state.get('fields');
    const said = fields && fields[field.dataset.key.replace('.', '_')];
    if (said !== undefined && document.activeElement !== field) field.value = said;
  }

  // ---- places on the drawings ---------------------------------------------------------------------------------
  function place(svg, event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return { x: at.x, y: -at.y };
  }

  const TURN = 2 * Math.PI;
  const picks = {
    ring: (at) => ({ theta: (Math.atan2(at.y, at.x) + TURN) % TURN }),
    rim: (at, svg) => ({ theta: Math.min(Math.max(at.x / Number(svg.dataset.per), 0), TURN * 0.9999), height: at.y }),
    section: (at) => ({ height: at.y }),
  };

  let held = null; // what the pointer holds: a handle, or a view

  document.addEventListener('pointerdown', (event) => {
    const svg = event.target.closest('#section, #ring, #rim');
    if (!svg || event.button) return;
    const handle = event.target.closest('[data-handle]');
    held = { svg, handle: handle ? Number(handle.dataset.handle) : null, pointer: event.pointerId, moved: false };
    (handle || svg).setPointerCapture(event.pointerId);
    if (handle) handle.focus({ preventScroll: true });
    else pick(event);
    event.preventDefault();
    if (!handle && svg.id !== 'section') svg.focus({ preventScroll: true });
  });

  document.addEventListener('pointermove', (event) => {
    if (!held) return hover(event);
    if (event.pointerId !== held.pointer) return;
    if (held.handle === null) return pick(event);
    const at = place(held.svg, event);
    held.moved = true;
    ghost(at);
    ask('drag', { handle: held.handle, radius: at.x, height: at.y });
  });

  for (const end of ['pointerup', 'pointercancel'])
    document.addEventListener(end, (event) => {
      if (!held || event.pointerId !== held.pointer) return;
      if (held.handle !== null && held.moved) ask('drop');
      held = null;
      ghost(null);
    });

  function pick(event) {
    if (held) ask('look', picks[held.svg.id](place(held.svg, event), held.svg));
    stood = null; // what is pressed stays picked
  }

  // A mouse over the rim or the ring shows its angle in all views; when it leaves, what was picked comes back.
  let stood = null;

  function hover(event) {
    const svg = event.pointerType === 'mouse' && !event.buttons && event.target.closest && event.target.closest('#ring, #rim');
    if (!svg) return leave();
    const state = window.trame.state;
    stood = stood || { theta: state.get('picked_theta'), height: state.get('picked_height') };
    ask('look', { theta: picks[svg.id](place(svg, event), svg).theta, height: stood.height });
  }

  function leave() {
    if (stood) ask('look', stood);
    stood = null;
  }
  document.documentElement.addEventListener('pointerleave', leave);

  // The dot under the finger goes with the finger at once; the answer follows.
  function ghost(at) {
    let dot = document.getElementById('finger');
    if (!at) { if (dot) dot.remove(); return; }
    if (!dot) {
      dot = document.createElementNS('http://www.w3.org/2000/svg', 'circle');
      dot.id = 'finger';
      document.getElementById('section').append(dot);
    }
    dot.setAttribute('cx', at.x);
    dot.setAttribute('cy', -at.y);
  }

  document.addEventListener('dblclick', (event) => {
    const svg = event.target.closest('#section');
    if (!svg || event.target.closest('[data-handle]')) return;
    const at = place(svg, event);
    ask('more-handles', { radius: at.x, height: at.y });
  });

  // ---- keys ---------------------------------------------------------------------------------------------------
  const ARROWS = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

  document.addEventListener('keydown', (event) => {
    const handle = event.target.closest && event.target.closest('[data-handle]');
    const view = event.target.closest && event.target.closest('#ring, #rim');
    if (handle) handleKey(event, handle);
    else if (view) viewKey(event);
    else if (scene() && ARROWS[event.key] && event.target.closest && event.target.closest('#scene-stage')) {
      spin((ARROWS[event.key][0] * TURN) / 24);
      event.preventDefault();
    }
    if ((event.ctrlKey || event.metaKey) && !event.altKey) command(event);
    if (event.key === 'Escape') choose(null);
  });

  function handleKey(event, handle) {
    const number = Number(handle.dataset.handle), way = ARROWS[event.key];
    if (way) ask('step-handle', { handle: number, out: way[0], up: way[1] });
    else if (event.key === 'Delete' && handle.dataset.inner) ask('fewer-handles', { handle: number });
    else if (event.key.toLowerCase() === 'c' && handle.dataset.inner && !event.ctrlKey) ask('corner', { handle: number });
    else return;
    event.preventDefault();
  }

  function viewKey(event) {
    const state = window.trame.state, way = ARROWS[event.key];
    if (!way) return;
    const turn = event.shiftKey ? TURN / 360 : TURN / state.get('index_count');
    const theta = (state.get('picked_theta') + way[0] * turn + TURN) % TURN;
    ask('look', { theta, height: state.get('picked_height') + way[1] * (event.shiftKey ? 1 : 5) });
    event.preventDefault();
  }

  function command(event) {
    const key = event.key.toLowerCase();
    const name = key === 's' ? 'save' : key === 'y' || (key === 'z' && event.shiftKey) ? 'redo' : key === 'z' ? 'undo' : null;
    if (!name || event.target.closest('input, select, textarea')) { if (name !== 'save') return; }
    event.preventDefault();
    ask(name);
  }

  // ---- the piece in space -------------------------------------------------------------------------------------
  const scene = () => window.trame && window.trame.refs && window.trame.refs.scene;
  let down = null, marking = null, turning = 0;

  function choose(kind) {
    marking = marking === kind ? null : kind;
    if (window.trame) window.trame.state.set('marking', marking);
    const stage = document.getElementById('scene-stage');
    if (stage) stage.classList.toggle('marking', Boolean(marking));
  }

  document.addEventListener('pointerdown', (event) => {
    if (event.target.closest('#scene-stage')) down = { x: event.clientX, y: event.clientY };
  }, true);

  document.addEventListener('pointerup', (event) => {
    const stage = event.target.closest && event.target.closest('#scene-stage');
    const still = down && Math.hypot(event.clientX - down.x, event.clientY - down.y) < 4;
    down = null;
    if (!stage || !still || !scene()) return;
    const area = stage.getBoundingClientRect();
    const across = (2 * (event.clientX - area.left)) / area.width - 1, up = 1 - (2 * (event.clientY - area.top)) / area.height;
    ask('touch', { camera: scene().getCamera(), across, up, aspect: area.width / area.height, ...(marking ? { mark: marking } : {}) });
  }, true);

  // Stand at a side; in a view higher than it is wide, so far off that the piece still goes in.
  function stand(side) {
    const view = scene(), camera = window.trame.state.get('cameras')[side], area = document.getElementById('scene-stage').getBoundingClientRect();
    if (!view || !camera) return;
    const far = Math.max(1, area.height / area.width), middle = camera.focalPoint;
    view.setCamera({ ...camera, position: camera.position.map((at, axis) => middle[axis] + far * (at - middle[axis])) });
  }

  // Turns as the lathe would, about the axis, and only while it is asked for.
  function turn() {
    const button = document.getElementById('turn');
    if (turning) { cancelAnimationFrame(turning); turning = 0; }
    else turning = requestAnimationFrame(round);
    button.setAttribute('aria-pressed', String(Boolean(turning)));
  }

  let last = 0;
  function round(now) {
    if (!scene()) { turning = 0; return; }
    spin(Math.min(now - last, 100) * 0.0006);
    last = now;
    turning = requestAnimationFrame(round);
  }

  function spin(angle) {
    const camera = scene().getCamera(), cos = Math.cos(angle), sin = Math.sin(angle);
    const about = ([x, y, z]) => [cos * x + sin * y, cos * y - sin * x, z];
    scene().setCamera({ ...camera, position: about(camera.position), focalPoint: about(camera.focalPoint), viewUp: about(camera.viewUp) });
  }

  // ---- paper --------------------------------------------------------------------------------------------------
  // Letters and dots on the drawings keep their size in pixels: each drawing is told its millimetres a pixel.
  function measure() {
    for (const svg of document.querySelectorAll('#section, #ring, #rim')) {
      const ctm = svg.getScreenCTM();
      if (ctm && ctm.a) svg.style.setProperty('--px', 1 / ctm.a);
    }
    const rim = document.getElementById('rim');
    if (!rim) return;
    const area = rim.getBoundingClientRect(), shape = area.height > 20 ? area.width / area.height : 0;
    if (shape && Math.abs(shape - (measure.shape || 0)) > 0.02) ask('shape', { rim: (measure.shape = shape) });
  }
  const sizes = new ResizeObserver(measure);

  const isDark = () => {
    const said = document.documentElement.dataset.theme;
    return said ? said === 'dark' : matchMedia('(prefers-color-scheme: dark)').matches;
  };

  function switchTheme() {
    document.documentElement.dataset.theme = isDark() ? 'light' : 'dark';
    tellTheme();
  }
  const tellTheme = () => ask('paper', { dark: isDark() });
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', tellTheme);

  // ---- beginning ----------------------------------------------------------------------------------------------
  document.addEventListener('submit', async (event) => {
    const form = event.target.closest('form[data-form]');
    if (!form) return;
    event.preventDefault();
    const body = new FormData(form);
    if (event.submitter && event.submitter.name) body.set(event.submitter.name, event.submitter.value);
    for (const [id, key] of [['start-units', 'units'], ['start-wood', 'wood'], ['start-name', 'title']])
      body.set(key, document.getElementById(id).value);
    const file = body.get('file');
    body.delete('file');
    const query = new URLSearchParams(body);
    query.set('way', form.dataset.form);
    if (file) query.set('file', file.name);
    const reply = await fetch(`/begin?${query}`, { method: 'POST', body: file || null }).catch(() => null);
    if (!reply || !reply.ok) window.trame.state.set('refusal', reply ? await reply.text() : 'formmaker does not answer');
  });

  // ---- when the desk does not answer --------------------------------------------------------------------------
  // The page is put away then, by its own words or, before it was there, by bare ones; it opens anew when it can.
  const EVERY = 1500; // ms
  let lost = false;

  function lose() {
    const app = document.getElementById('app');
    const bare = app && !app.firstElementChild && app.textContent.trim();
    if (lost || !(bare || document.querySelector('.lost'))) return;
    lost = true;
    if (bare) app.innerHTML = '<main class="waiting" role="alert"><h1>The desk does not answer</h1><p class="doing">Trying again.</p></main>';
    const timer = setInterval(async () => {
      const reply = await fetch('index.html', { cache: 'no-store' }).catch(() => null);
      if (reply && reply.ok) { clearInterval(timer); window.location.reload(); }
    }, EVERY);
  }

  window.addEventListener('beforeunload', (event) => {
    if (lost) return;
    if (window.trame && window.trame.state.get('stage') === 'desk' && !window.trame.state.get('is_saved')) event.preventDefault();
  });

  let known = null, ready = null;
  new MutationObserver(() => {
    answered();
    lose();
    const board = document.querySelector('.board');
    if (board && board !== known) {
      known = board;
      for (const svg of document.querySelectorAll('#section, #ring, #rim')) sizes.observe(svg);
      tellTheme();
    }
    if (board) measure();
    const stage = document.getElementById('scene-stage');
    if (stage && stage.dataset.ready && stage !== ready) {
      ready = stage;
      stand('side');
    }
    const picture = stage && stage.querySelector('[tabindex]:not([role])');
    if (picture) {
      picture.setAttribute('role', 'img');
      picture.setAttribute('aria-label', 'The blank with the bowl in it; arrow keys left and right turn it about its axis');
    }
  }).observe(document.documentElement, { childList: true, subtree: true, characterData: true, attributeFilter: ['viewBox', 'data-ready'] });
})();
