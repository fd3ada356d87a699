// Switches between pictures that are all on the page already; without this script they stand side by side.
(function () {
  'use strict';
  document.documentElement.classList.add('live');

  function views(root) {
    var stage = root.querySelector('.stage'), line = root.querySelector('.line');
    var status = root.querySelector('.status'), compare = root.querySelector('select');
    var between = root.querySelector('.between'), range = between && between.querySelector('input');
    var said = '';

    function chosen(kind) { return root.querySelector('input[data-kind=' + kind + ']:checked'); }
    function figure(key) { return stage.querySelector('[data-key="' + key + '"]'); }
    function words(f) { return f.querySelector('figcaption').textContent; }

    function place() {
      var at = range ? Number(range.value) : 0, over = stage.querySelector('.over');
      if (range) range.setAttribute('aria-valuetext', at + ' % from the left');
      line.style.left = at + '%';
      if (over) over.style.clipPath = 'inset(0 0 0 ' + at + '%)';
    }
    function show() {
      var shirt = chosen('shirt'), light = chosen('light');
      var key = (shirt ? shirt.value : '0') + '-' + (light ? light.value : '0');
      var other = compare && compare.value ? figure(compare.value) : null, shown = figure(key);
      if (other === shown) other = null;
      stage.querySelectorAll('.view').forEach(function (f) {
        f.classList.toggle('shown', f === shown);
        f.classList.toggle('over', f === other);
        f.style.clipPath = '';
      });
      stage.classList.toggle('two', other !== null);
      if (between) between.hidden = other === null;
      place();
      var text = other ? 'Left of the line: ' + words(shown) + '. Right of it: ' + words(other) + '.' : words(shown) + '.';
      if (text !== said) status.textContent = said = text;
    }
    function drag(event) {
      if (!range || !stage.classList.contains('two')) return;
      if (event.type === 'pointermove' && !(event.buttons & 1)) return;
      var box = stage.getBoundingClientRect();
      range.value = Math.round(100 * (event.clientX - box.left) / box.width);
      place();
    }

    root.querySelectorAll('input[type=radio], select').forEach(function (e) { e.addEventListener('change', show); });
    if (range) range.addEventListener('input', place);
    stage.addEventListener('pointerdown', drag);
    stage.addEventListener('pointermove', drag);
    show();
  }
  document.querySelectorAll('.views').forEach(views);

  var button = document.querySelector('.copy'), reply = document.getElementById('reply');
  var told = document.getElementById('copied');
  function select() {
    var area = document.createRange(), selection = window.getSelection();
    area.selectNodeContents(reply);
    selection.removeAllRanges();
    selection.addRange(area);
    told.textContent = 'The text is selected: copy it.';
  }
  button.addEventListener('click', function () {
    select();  // a browser may never say whether it lets a page copy
    if (navigator.clipboard) {
      navigator.clipboard.writeText(reply.textContent).then(function () { told.textContent = 'Copied.'; }, function () {});
    }
  });
}());
