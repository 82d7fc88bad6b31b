/** Gives somebody a file that the page has. */
export function download(name: string, what: Blob): void {
  const a = document.createElement("a");
  a.href = URL.createObjectURL(what);
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(a.href), 1000);
}
