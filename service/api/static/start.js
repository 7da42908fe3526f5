"use strict";

// No address outside this service: the document comes from here and no validator is asked.
SwaggerUIBundle({
  url: "/openapi.json",
  dom_id: "#page",
  validatorUrl: "none",
  deepLinking: true,
  defaultModelsExpandDepth: 0,
});
