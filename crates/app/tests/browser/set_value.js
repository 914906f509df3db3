// Sets a field's value as if it had been picked, so that the page hears of it.
const [field, value] = arguments;
field.value = value;
field.dispatchEvent(new Event("input", { bubbles: true }));
field.dispatchEvent(new Event("change", { bubbles: true }));
