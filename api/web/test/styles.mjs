// Lets Node load the page's modules outside a bundle: the styles that they name are
// nothing there.
import { register } from "node:module";

const hooks = `export const load = (url, context, next) =>
  url.endsWith(".css") ? { format: "module", source: "", shortCircuit: true } : next(url, context);`;

register(`data:text/javascript,${encodeURIComponent(hooks)}`);
