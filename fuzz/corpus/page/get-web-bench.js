GET bench kweb/bench.js
127.0.0.1:8017
http://127.0.0.1:8017

