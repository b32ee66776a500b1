// Board sides out of Gerber and drill files, drawn by a reader from the npm registry: gerber_layers.js PACKAGES OUT MOST_MM2
//   PACKAGES  the folder where gerber-to-svg and the fixtures package are installed; each of its boards has a manifest.json
//   OUT       gets a folder a side: copper.svg, mask.svg, print.svg, drill.svg, outline.svg (white on black, the board's rectangle,
//             40 pixels per mm, as seen) and the file `size` (AxB in mm)
//   MOST_MM2  larger boards are left out, and so are those without an outline
// Prints each side's name. Node.js; for test_photo_gerbers.sh.
const fs = require('fs')
const path = require('path')
const [packages, out, most] = [path.resolve(process.argv[2]), path.resolve(process.argv[3]), Number(process.argv[4])]
const draw = require(path.join(packages, 'node_modules', 'gerber-to-svg'))
const boards = path.join(packages, 'node_modules', '@tracespace', 'fixtures', 'boards')
const scale = 40
const sheets = { copper: 'copper', soldermask: 'mask', silkscreen: 'print', drill: 'drill', outline: 'outline' }

// Draws one file; its picture then has its own units, y up, and a box that fits it.
const drawn = (folder, layer) => new Promise((resolve, reject) => {
  const options = Object.assign({ id: layer.name.replace(/\W/g, '_') }, layer.options)
  if (layer.type === 'outline') options.plotAsOutline = options.plotAsOutline || true // one closed path along the middle of the lines
  const reader = draw(fs.createReadStream(path.join(folder, layer.name)), options, (error, svg) =>
    error ? reject(error) : resolve({ svg, type: layer.type, side: layer.side, unit: reader.units === 'in' ? 0.0254 : 0.001, box: reader.viewBox }))
})

// What is inside the picture, moved to millimetres from the board's top left.
const placed = (picture, board) => {
  const keep = /(stroke-linecap|stroke-linejoin|stroke-width|fill-rule)="[^"]*"/g
  const [root] = picture.svg.match(/<svg[^>]*>/)
  const body = picture.svg.slice(root.length, picture.svg.lastIndexOf('</svg>'))
  const down = board.low + board.height - picture.unit * (2 * picture.box[1] + picture.box[3])
  const filled = picture.type === 'outline' ? body.replace(/ fill="none"/g, '').replace(/ stroke-width="[^"]*"/g, '') : body
  return `<g transform="translate(${-board.left},${down}) scale(${picture.unit})" color="white" ${root.match(keep).join(' ')}>${filled}</g>`
}

const sheet = (pictures, board, bottom) => `<svg version="1.1" xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" ` +
  `width="${Math.round(board.width * scale)}" height="${Math.round(board.height * scale)}" viewBox="0 0 ${board.width} ${board.height}" ` +
  `preserveAspectRatio="none"><rect width="100%" height="100%" fill="black"/>` +
  `<g${bottom ? ` transform="translate(${board.width},0) scale(-1,1)"` : ''}>${pictures.map(p => placed(p, board)).join('')}</g></svg>`

const write = (name, pictures) => {
  const outline = pictures.find(p => p.type === 'outline')
  if (!outline) return
  const [left, low, width, height] = outline.box.map(v => v * outline.unit)
  if (width * height > most) return
  for (const side of ['top', 'bottom']) {
    const folder = path.join(out, `${name}-${side}`)
    fs.mkdirSync(folder)
    for (const type in sheets) {
      const mine = pictures.filter(p => p.type === type && (p.side === side || p.side === 'all'))
      fs.writeFileSync(path.join(folder, sheets[type] + '.svg'), sheet(mine, { left, low, width, height }, side === 'bottom'))
    }
    fs.writeFileSync(path.join(folder, 'size'), `${width.toFixed(4)}x${height.toFixed(4)}\n`)
    console.log(`${name}-${side}`)
  }
}

const main = async () => {
  for (const name of fs.readdirSync(boards).sort()) {
    const { layers } = JSON.parse(fs.readFileSync(path.join(boards, name, 'manifest.json')))
    write(name, await Promise.all(layers.filter(l => sheets[l.type]).map(l => drawn(path.join(boards, name), l))))
  }
}
main()
