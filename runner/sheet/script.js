(function () {
  var lit = [];
  function all(q, e) { return Array.prototype.slice.call((e || document).querySelectorAll(q)); }
  function on(e) { e.classList.add('lit'); lit.push(e); }
  function off() { lit.forEach(function (e) { e.classList.remove('lit'); }); lit = []; }
  function at(hash) { return document.getElementById(decodeURIComponent(hash.slice(1))); }
  function near(e, q) { return e.target.closest ? e.target.closest(q) : null; }
  // A symbol lights its definition and each of its uses; a link of the trail lights the entry it
  // leads to, and the symbols by which the two entries hang together.
  function light(e) {
    var s = near(e, '[data-s]'), a = near(e, 'a[href^="#"]'), row = near(e, '[id]'), to;
    off();
    if (s) {
      s = s.getAttribute('data-s');
      all('[data-s="' + s + '"],[data-def~="' + s + '"]').forEach(on);
      return;
    }
    to = a ? at(a.getAttribute('href')) : null;
    if (to) {
      on(to);
      [[row, to], [to, row]].forEach(function (pair) {
        var defined = pair[0] ? pair[0].getAttribute('data-def') : '';
        (defined || '').split(' ').forEach(function (s) { all('[data-s="' + s + '"]', pair[1]).forEach(on); });
      });
    }
  }
  document.documentElement.classList.add('js');
  document.addEventListener('mouseover', light);
  document.addEventListener('focusin', light);
  document.addEventListener('focusout', off);
  document.addEventListener('click', function (e) {
    var t = near(e, '[data-s]');
    if (!t || near(e, 'a,summary')) { return; }
    var def = document.querySelector('[data-def~="' + t.getAttribute('data-s') + '"]');
    if (def) { show(def); location.hash = def.id; }
  });
  // A link to a folded entry unfolds it.
  function show(e) { for (var d = e.closest('details'); d; d = d.parentElement.closest('details')) { d.open = true; } }
  function arrive() { var e = at(location.hash); if (e) { show(e); e.scrollIntoView(); } }
  // What cannot be broken and is wider than the page scrolls, by keyboard too.
  function reach() {
    all('.eq,.foot,.fold,math[display]').forEach(function (e) {
      if (e.scrollWidth > e.clientWidth + 1) { e.tabIndex = 0; } else { e.removeAttribute('tabindex'); }
    });
  }
  window.addEventListener('hashchange', arrive);
  window.addEventListener('resize', reach);
  window.addEventListener('beforeprint', off);
  reach();
  if (location.hash) { arrive(); }
})();
