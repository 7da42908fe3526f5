"use strict";

// No address outside this service: the document comes from here and no validator is asked.
SwaggerUIBundle({
  url: "/openapi.json",
  dom_id: "#page",
  validatorUrl: "none",
  deepLinking: true,
  defaultModelsExpandDepth: 0,
  // The page around the form has a heading of its own.
  plugins: [() => ({ components: { InfoContainer: () => null } })],
  // A page has one main part, and that is not the form.
  onComplete: () => {
    const inside = document.querySelector("#page main");
    inside.setAttribute("role", "region");
    inside.setAttribute("aria-label", "Operations to try");
  },
});
