/* A <details data-menu> closes on Escape and on a press elsewhere, as people expect of a menu. */
export function closeMenus(root) {
  root.addEventListener("click", (event) => {
    for (const menu of root.querySelectorAll("details[data-menu][open]")) {
      if (!menu.contains(event.target)) menu.open = false;
    }
  });
  root.addEventListener("keydown", (event) => {
    const menu = event.key === "Escape" && event.target.closest?.("details[data-menu][open]");
    if (!menu) return;
    menu.open = false;
    menu.querySelector("summary").focus();
  });
}
