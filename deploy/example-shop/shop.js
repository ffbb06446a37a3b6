// What a shop does with the widget: its cart takes the pick list.

const cart = document.getElementById("cart");

document.addEventListener("midstroke:choose", (event) => {
  for (const { kind, code, quantity } of event.detail.pick_list) {
    const item = document.createElement("li");
    item.textContent = `${quantity} × ${code} (${kind})`;
    cart.append(item);
  }
  document.getElementById("cart-empty").hidden = true;
});

// Its analytics would take this one: what became of a request, without a name in it.
document.addEventListener("midstroke:answer", (event) => {
  console.info("midstroke:answer", event.detail.outcome, event.detail.fits);
});
