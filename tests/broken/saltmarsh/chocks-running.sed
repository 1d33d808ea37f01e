# Chocks found in after the start: somebody goes to them with the engine running.
# finds: chocks-still key-out safe-ends secured-ends alternator-on ready-ends
# tail: qm-1
/^drill chocks-in/,/^}/{/do  *stop-engine/d;/do  *power-off/d;s/end READY.*/end RUNNING, next start after long-rest/;s/set     key OUT/set     throttle CLOSED/;/set     key IN/d}
