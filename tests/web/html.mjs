// HTML5 checked by html-validate: what makes a document invalid or shuts people out, not matters of taste.
import { HtmlValidate } from 'html-validate'

const validator = new HtmlValidate({
  root: true,
  extends: ['html-validate:standard', 'html-validate:a11y'],
  rules: {
    'no-inline-style': 'off',
    'long-title': 'off', // the title is the product's name
    'void-style': 'off',
    'require-sri': 'off',
  },
})

/* What is wrong with the markup, one line each. */
export async function htmlProblems(markup) {
  const report = await validator.validateString(markup)
  return report.results.flatMap(({ messages }) => messages.map(({ line, column, ruleId, message }) => `${line}:${column} ${ruleId}: ${message}`))
}
