// Keeps an open page current. It listens to the server, changes what is not as it was and leaves all
// else alone: where the reader is, what is unfolded, focus and selection. Rows whose values moved say
// from where and how far, until the next change or a click.
(function () {
  'use strict';
  const me = document.currentScript, root = document.documentElement;
  const page = me.dataset.page;
  let version = me.textContent.replace(/[^0-9a-f]/g, ''); // of what is shown
  let wanted = version;             // of what the server has
  let source = null, again = 0, wait = 0, heard = 0, silent = 0, fetching = false;

  /* ---- what the reader is told ---- */

  const box = document.createElement('div');
  box.id = 'Live';
  box.dataset.live = '';
  box.innerHTML = '<p class="live-lost" role="status"></p><div class="live-news"><span role="status"></span>' +
    '<button type="button" class="live-next">show next</button><button type="button" class="live-clear">clear</button></div>';
  document.body.append(box);
  const lost = box.querySelector('.live-lost'), news = box.querySelector('.live-news'), said = news.firstChild;
  box.querySelector('.live-clear').addEventListener('click', clear);
  box.querySelector('.live-next').addEventListener('click', next);

  // An empty text hides the banner. While it stands the page may be out of date.
  function warn(text, soon) {
    if (lost.textContent !== text) { lost.textContent = text; }
    lost.classList.toggle('live-soon', !!soon);
    root.classList.toggle('live-old', text !== '');
  }

  function plural(n, one, many) { return n + ' ' + (n === 1 ? one : many); }

  /* ---- marks ---- */

  let marked = [], notes = [], stop = -1;

  function clear() {
    for (const e of notes) { e.remove(); }
    for (const e of marked) {
      e.classList.remove('live-moved');
      if (!e.className) { e.removeAttribute('class'); }
    }
    marked = [];
    notes = [];
    stop = -1;
    news.hidden = true;
  }

  function next() {
    const left = marked.filter(e => e.isConnected);
    if (!left.length) { return; }
    stop = (stop + 1) % left.length;
    for (let d = left[stop].closest('details'); d; d = d.parentElement.closest('details')) { d.open = true; }
    left[stop].scrollIntoView({ block: 'center', behavior: matchMedia('(prefers-reduced-motion: reduce)').matches ? 'auto' : 'smooth' });
  }

  const cellsOf = '.res, .nv';

  // The results in an element, each with the words that it shows.
  function results(e) {
    if (!e.matches('tbody, tr, td, table, div, section, main')) { return []; }
    const around = e.closest(cellsOf), cells = around ? [around] : e.querySelectorAll(cellsOf), out = [];
    for (const cell of cells) {
      if (cell.nodeName === 'TH' && cell.closest('thead')) { continue; }
      const verdict = cell.matches('.verdict');
      out.push(words({ cell: cell, verdict: verdict, number: cell.querySelector('b') || cell,
        unit: verdict ? null : cell.matches('.nv') ? cell.nextElementSibling : cell.querySelector('b ~ span') }));
    }
    return out;
  }

  function words(r) {
    return { cell: r.cell, verdict: r.verdict, number: r.number, unit: r.unit,
      shows: r.number.textContent.trim(), in: r.unit ? r.unit.textContent.trim() : '' };
  }

  const raised = '⁰¹²³⁴⁵⁶⁷⁸⁹';

  // A number as the sheet prints it: −45.6, 1.2346×10⁵. Its digits behind the point and its power go with it.
  function read(text) {
    const m = /^([−-]?)(\d+)(?:\.(\d+))?(?:×10(⁻?)([⁰¹²³⁴⁵⁶⁷⁸⁹]+))?$/.exec(text);
    if (!m) { return null; }
    let power = 0;
    for (const c of m[5] || '') { power = 10 * power + raised.indexOf(c); }
    if (m[4]) { power = -power; }
    const value = Number((m[1] ? '-' : '') + m[2] + '.' + (m[3] || '0') + 'e' + power);
    return { value: value, digits: (m[3] || '').length, power: power, raised: m[5] ? '×10' + m[4] + m[5] : '' };
  }

  function difference(from, to) {
    const a = read(from), b = read(to);
    if (!a || !b) { return ''; }
    const scale = Math.pow(10, b.power), d = (b.value - a.value) / scale;
    const text = Math.abs(d).toFixed(Math.min(20, Math.max(b.digits, a.digits - a.power + b.power, 0)));
    return Number(text) === 0 ? '' : (d < 0 ? '−' : '+') + text + b.raised;
  }

  // What became of results that were these before. Where only words were changed they are in the same
  // places.
  function mark(e, before, same) {
    if (!before.length) { return; }
    const after = same ? before.map(words) : results(e);
    if (after.length !== before.length) { return; }
    after.forEach((now, i) => {
      const was = before[i];
      if (was.shows === now.shows && was.in === now.in) { return; }
      const note = remark(now.cell);
      const unit = was.in && was.in !== now.in ? '\u00a0' + was.in : '';
      const from = document.createElement('span');
      from.textContent = was.verdict && !now.verdict ? 'had no value' : 'was ' + was.shows + unit;
      note.append(from);
      const d = was.in === now.in && difference(was.shows, now.shows);
      if (d) {
        const by = document.createElement('b');
        by.textContent = d;
        note.append(' ', by);
      }
      show(now.cell.closest('.row') || now.cell.closest('tr'));
    });
  }

  // A note under a result.
  function remark(cell) {
    const note = document.createElement('span');
    note.className = 'live-was';
    note.dataset.live = '';
    note.addEventListener('click', clear);
    cell.append(note);
    notes.push(note);
    return note;
  }

  function welcome(row) {
    const cell = row.querySelector(cellsOf);
    if (cell) { remark(cell).innerHTML = '<span>new</span>'; }
    show(row);
  }

  function show(row) {
    if (row && !marked.includes(row)) {
      row.classList.add('live-moved');
      marked.push(row);
    }
  }

  /* ---- changing the page ---- */

  const lit = ['lit', 'js', 'live-old']; // classes that scripts give and take

  function attributes(a, b) {
    for (const { name, value } of b.attributes) {
      if (name === 'open' && a.nodeName === 'DETAILS') { continue; } // the reader's
      if (name !== 'class') {
        if (a.getAttribute(name) !== value) { a.setAttribute(name, value); }
        continue;
      }
      const own = lit.filter(c => a.classList.contains(c));
      const all = own.length ? value + ' ' + own.join(' ') : value;
      if (a.getAttribute('class') !== all) { a.setAttribute('class', all); }
    }
    for (const { name } of Array.from(a.attributes)) {
      if (b.hasAttribute(name) || name === 'open' || name === 'tabindex' && a.matches('.eq,.foot,.fold,math[display]')) { continue; }
      const own = name === 'class' ? lit.filter(c => a.classList.contains(c)) : [];
      if (own.length) { a.className = own.join(' '); } else { a.removeAttribute(name); }
    }
  }

  function same(a, b) { return a.nodeType === b.nodeType && a.nodeName === b.nodeName; }

  // morph makes a what b is, and keeps of it what it can.
  function morph(a, b) {
    if (!same(a, b)) { a.replaceWith(b); return; }
    if (a.nodeType !== Node.ELEMENT_NODE) {
      if (a.data !== b.data) { a.data = b.data; }
      return;
    }
    if (a.isEqualNode(b)) { return; }
    attributes(a, b);
    const as = Array.from(a.childNodes).filter(mine), bs = Array.from(b.childNodes);
    if (as.length === bs.length && as.every((x, i) => same(x, bs[i]))) {
      as.forEach((x, i) => morph(x, bs[i]));
    } else {
      match(a, as, bs);
    }
  }

  function mine(node) { return !(node.dataset && 'live' in node.dataset); }

  // Which element of an old list is which of a new one: by the symbol that a row defines, and by the
  // words that anything else begins with.
  function key(node) {
    if (node.nodeType !== Node.ELEMENT_NODE) { return node.nodeName; }
    const e = node.matches('tbody.row') ? node.querySelector('.eq math, .eq .ring') || node : node;
    return node.nodeName + ' ' + e.textContent.replace(/^[^A-Za-z\u0080-\uffff]+/, '').slice(0, 24);
  }

  function match(parent, as, bs) {
    const known = new Map();
    for (const a of as) {
      const k = key(a);
      if (known.has(k)) { known.get(k).push(a); } else { known.set(k, [a]); }
    }
    const kept = bs.map(b => (known.get(key(b)) || []).shift());
    const stay = new Set(kept);
    let here = as.length ? as[0] : parent.firstChild;
    for (const a of as) {
      if (!stay.has(a)) {
        if (a === here) { here = a.nextSibling; }
        a.remove();
      }
    }
    bs.forEach((b, i) => {
      const a = kept[i];
      if (!a) {
        parent.insertBefore(b, here);
        if (b.nodeType === Node.ELEMENT_NODE && b.matches('.row')) { welcome(b); }
      } else if (a === here) {
        here = a.nextSibling;
        morph(a, b);
      } else {
        parent.insertBefore(a, here);
        morph(a, b);
      }
    });
  }

  // White space behind an element belongs to it.
  function behind(e) {
    const out = [];
    for (let n = e.nextSibling; n && n.nodeType === Node.TEXT_NODE; n = n.nextSibling) { out.push(n); }
    return out;
  }

  function elements(e) { return Array.from(e.children).filter(mine); }

  // reword changes pieces of an element's text.
  function reword(e, t) {
    if (t.splice) {
      const text = e.textContent;
      let out = '', at = 0;
      for (const s of t.splice) {
        out += text.slice(at, at + s.k) + s.t;
        at += s.k + s.d;
      }
      if (at > text.length) { throw new Error('other data'); }
      e.firstChild.data = out + text.slice(at);
      return;
    }
    const texts = [], all = document.createTreeWalker(e, NodeFilter.SHOW_TEXT);
    while (all.nextNode()) { texts.push(all.currentNode); }
    for (const n of behind(e)) { texts.push(n); }
    if (texts.length !== t.n) { throw new Error('other text'); }
    t.k.forEach((k, i) => { texts[k].data = t.s[i]; });
  }

  // apply makes the changes of one edit. An error in the middle is put right by having the page whole.
  function apply(edit) {
    let e = root;
    for (const i of edit.at) {
      e = elements(e)[i];
      if (!e) { throw new Error('no such place'); }
    }
    const old = elements(e), set = edit.set || [], put = edit.put || [];
    const into = e.cloneNode(false);
    into.innerHTML = edit.html || '';
    const fresh = Array.from(into.children);
    if (old.length !== edit.n || fresh.length !== set.length + put.reduce((n, p) => n + p.add, 0)) {
      throw new Error('not the page that the server knows');
    }
    for (const t of edit.text || []) {
      const was = results(old[t.i]);
      reword(old[t.i], t);
      mark(old[t.i], was, true);
    }
    let at = 0;
    for (const i of set) {
      const was = results(old[i]), b = fresh[at++], space = behind(b).map(n => n.data).join('');
      const a = old[i], mineSpace = behind(a);
      if (mineSpace.map(n => n.data).join('') !== space) {
        mineSpace.forEach(n => n.remove());
        if (space) { a.after(space); }
      }
      const parent = a.parentNode, before = a.previousSibling;
      morph(a, b);
      const now = a.isConnected ? a : before ? before.nextSibling : parent.firstChild;
      mark(now, was);
    }
    for (const p of put) {
      const here = old[p.before + p.cut] || (e === document.body ? box : null);
      for (const a of old.slice(p.before, p.before + p.cut)) {
        behind(a).forEach(n => n.remove());
        a.remove();
      }
      for (let i = 0; i < p.add; i++) {
        const b = fresh[at++], space = behind(b);
        e.insertBefore(b, here);
        space.forEach(n => e.insertBefore(n, here));
        if (b.matches('.row')) { welcome(b); }
      }
    }
  }

  // change runs work that changes the page, and keeps the reader where he is.
  function change(how, work) {
    const places = look(), active = document.activeElement;
    const home = active && active !== document.body ? active.closest('[id]') : null;
    clear();
    work();
    const done = performance.now();
    if (active && !active.isConnected && home && home.id) {
      const back = document.getElementById(home.id), to = back && (back.querySelector('a[href],summary,[tabindex]') || back);
      if (to) { to.focus({ preventScroll: true }); }
    }
    const place = places.find(p => p.e.isConnected);
    if (place) {
      const moved = place.e.getBoundingClientRect().top - place.top;
      if (Math.abs(moved) >= 1) { window.scrollBy({ top: moved, behavior: 'instant' }); }
    }
    tell(how, done);
  }

  // What the reader looks at: what has the focus, or else what stands a third down the window. At the
  // top of the page the top stays.
  function look() {
    if (window.scrollY < 1) { return []; }
    const out = [], add = e => {
      const r = e.getBoundingClientRect();
      if (r.height && r.bottom > 0 && r.top < window.innerHeight) { out.push({ e: e, top: r.top }); }
    };
    const block = e => box.contains(e) ? null : e.closest('.row') || e.closest('tr, li, p, h1, h2, h3, figure, summary, pre');
    const focused = document.activeElement && block(document.activeElement);
    if (focused) { add(focused); }
    for (const f of [0.33, 0.2, 0.5, 0.7, 0.05, 0.9]) {
      const e = document.elementsFromPoint(window.innerWidth / 2, window.innerHeight * f).map(block).find(Boolean);
      if (e) { add(e); }
    }
    return out;
  }

  function tell(how, done) {
    const n = marked.length, bad = document.querySelectorAll('#Problems .bad').length;
    const parts = [];
    if (n) { parts.push(plural(n, 'row changed', 'rows changed')); }
    if (bad) { parts.push(plural(bad, 'error', 'errors')); }
    said.textContent = parts.join(', ');
    news.hidden = n === 0;
    requestAnimationFrame(() => window.dispatchEvent(new Event('resize'))); // the page's own script looks again at what is too wide
    document.dispatchEvent(new CustomEvent('sheetchange', { detail: { version: version, how: how, rows: n, heard: heard, changed: performance.timeOrigin + done } }));
  }

  // fetchWhole gets the page anew, as often as it changes meanwhile.
  async function fetchWhole() {
    if (fetching) { return; }
    fetching = true;
    try {
      while (wanted !== version) {
        const asked = wanted, answer = await fetch(location.pathname, { cache: 'no-store' });
        if (!answer.ok) { throw new Error(answer.statusText); }
        const text = await answer.text(), is = answer.headers.get('X-Version');
        const fresh = new DOMParser().parseFromString(text, 'text/html');
        change('whole', () => {
          const before = new Map(Array.from(document.querySelectorAll('.row, .nv')).map(e => [e, results(e)]));
          morph(root, fresh.documentElement);
          for (const [e, was] of before) {
            if (e.isConnected) { mark(e, was); }
          }
          version = is;
        });
        if (wanted === asked) { wanted = version; } // which may be newer than what was announced
      }
      warn('');
    } catch (e) {
      drop();
    } finally {
      fetching = false;
    }
  }

  /* ---- the server ---- */

  function hear(message) {
    heard = Date.now();
    silent = 0;
    wait = 0;
    const e = JSON.parse(message.data);
    if (e.kind === 'gone') {
      warn('There is no such sheet any more: its notebook is gone, or cannot be read. What is shown is the last one.');
      return;
    }
    if (e.kind === 'making') {
      warn('The sheet is being made anew. What is shown is from before the last change.', true);
      return;
    }
    wanted = e.version;
    if (wanted === version) {
      warn('');
      return;
    }
    if (e.kind === 'edit' && e.from === version && !fetching) {
      try {
        change('edit', () => {
          e.edits.forEach(apply);
          version = e.version;
        });
        warn('');
        return;
      } catch (problem) { /* had whole instead */ }
    }
    fetchWhole();
  }

  // drop ends what is left of a connection, says so, and tries again soon.
  function drop() {
    close();
    warn('The server does not answer. What is shown may be out of date; it is brought up to date when the server is back.');
    wait = Math.min(2000, wait ? 2 * wait : 250);
    again = setTimeout(connect, wait);
  }

  function close() {
    clearTimeout(again);
    if (source) { source.close(); }
    source = null;
  }

  function connect() {
    close();
    if (document.hidden) { return; } // browsers allow a server few connections: they are for what is seen
    silent = 0;
    source = new EventSource('/-/events?page=' + encodeURIComponent(page) + '&version=' + version);
    source.onmessage = hear;
    source.onerror = drop;
  }

  document.addEventListener('visibilitychange', () => { if (document.hidden) { close(); } else { connect(); } });
  window.addEventListener('pagehide', close);
  window.addEventListener('pageshow', e => { if (e.persisted) { connect(); } });
  // A server that has stopped without ending its connections is silent.
  // Seconds are counted, not read off a clock: in those that the machine slept, or the page had no time
  // to look, nothing could be heard.
  setInterval(() => { if (source && ++silent > 12) { drop(); } }, 1000);
  news.hidden = true;
  connect();
})();
