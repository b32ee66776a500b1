// The corners of a board on its photo: which board, which of its sides, and how large it is.
export class CornersForm {
  constructor() {
    this.form = document.getElementById('corners')
    this.board = document.getElementById('corner-board')
    this.side = document.getElementById('corner-side')
    this.size = document.getElementById('corner-size')
    this.form.addEventListener('submit', event => { event.preventDefault(); document.getElementById('mat').focus() })
    this.board.addEventListener('input', () => this.named())
  }

  /* boards: {name, size} as noted */
  know(boards) {
    this.boards = boards
    if (this.board.value === '') this.board.value = boards[0]?.name ?? 'A'
    this.named()
  }

  named() {
    const known = this.boards.find(({ name }) => name === this.board.value.trim())?.size
    this.size.disabled = Boolean(known)
    if (known) this.size.value = known
  }

  open(open) { this.form.hidden = !open }

  get title() { return `Board ${this.board.value.trim()}, ${this.side.value}` }

  notes(file, corners) {
    const board = this.board.value.trim()
    const size = this.size.value.trim()
    const sized = this.size.disabled || size === '' ? [] : [`board ${board} ${size}`]
    return [...sized, `photo ${board} ${this.side.value} ${file} corners ${corners.join(' ')}`]
  }
}
