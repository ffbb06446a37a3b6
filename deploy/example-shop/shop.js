// The shop puts the pick list into its cart.

const cart = document.getElementById("cart");

document.addEventListener("midstroke:choose", (event) => {
  for (const { kind, code, text, quantity } of event.detail.pick_list) {
    const item = document.createElement("li");
    item.textContent = `${quantity} × ${code ?? text} (${kind})`;
    cart.append(item);
  }
  document.getElementById("cart-empty").hidden = true;
});

// This event is for analytics: the outcome of a request, without personal data.
document.addEventListener("midstroke:answer", (event) => {
  console.info("midstroke:answer", event.detail.outcome, event.detail.fits);
});
