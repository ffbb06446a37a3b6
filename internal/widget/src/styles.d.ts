// A style sheet that a script imports is the text of its rules.
declare module "*.css" {
  const rules: string;
  export default rules;
}
